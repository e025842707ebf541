// The plate in plan: colour and numbered lines of a map, edges, holes, bar, readings, ruler, and what a task draws over it.

import { contours } from "./contours.js";
import { showKey } from "./key.js";
import { Numbers } from "./numbers.js";
import { paintRaster } from "./raster.js";
import { changeBands, takenBands, thicknessBands } from "./scales.js";

const INK = "#1d1a17", QUIET = "#6f675f";
/** Room for the ruler at the left, for the key of the colours at the right. */
const RULER = 34, KEY = 60, MARGIN = 12;

export class Plan {
  constructor(field, ink, key) {
    this.field = field;
    this.ink = ink;
    this.key = key;
    this.side = "inside";
    this.overlays = new Map();
    this.raster = document.createElement("canvas");
    this.listeners = new Set();
    new ResizeObserver(() => this.resize()).observe(ink);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.redraw());
  }

  /** Show a plate; its thickness is the map until another is asked for. */
  show(picture) {
    const grid = picture.grid;
    const count = grid.rows * grid.columns;
    this.thickness = Float32Array.from(grid.thickness_um, (um) => (um < 0 ? NaN : um / 1000));
    this.taken = new Float32Array(count);
    if (picture.plate !== this.picture?.plate || !this.mark) this.mark = firstMark(picture.bounds_mm);
    this.shown = null;
    this.known = new Map();
    this.picture = picture;
    this.colourBy("thickness");
    this.resize();
  }

  /** Say what was taken [um] everywhere, or nothing. */
  setTaken(um) {
    if (um === null) this.taken.fill(0);
    else um.forEach((value, i) => { this.taken[i] = value > 0 ? value / 1000 : 0; });
    this.repaint();
  }

  /** Say what is taken in a rectangle of the grid; what another stroke showed elsewhere is put back by `undoPatch`. */
  patch(part) {
    this.undoPatch();
    if (!part) return;
    const columns = this.picture.grid.columns;
    const before = new Float32Array(part.rows * part.columns);
    for (let r = 0; r < part.rows; r++) {
      for (let c = 0; c < part.columns; c++) {
        const i = (part.row + r) * columns + part.column + c, k = r * part.columns + c;
        before[k] = this.taken[i];
        const um = part.taken_um[k];
        this.taken[i] = um > 0 ? um / 1000 : 0;
      }
    }
    this.shown = { part, before };
    this.repaint(part);
  }

  /** Keep what the last patch showed. */
  keepPatch() {
    this.shown = null;
  }

  undoPatch() {
    if (!this.shown) return;
    const { part, before } = this.shown, columns = this.picture.grid.columns;
    for (let r = 0; r < part.rows; r++) {
      for (let c = 0; c < part.columns; c++) this.taken[(part.row + r) * columns + part.column + c] = before[r * part.columns + c];
    }
    this.shown = null;
    this.repaint(part);
  }

  /** Colour by "thickness", "taken", or what a shaving does to a tone: `hz` one number per point of the grid. */
  colourBy(kind, hz = null) {
    this.kind = kind;
    this.hz = hz && Float32Array.from(hz, (value) => (value === null ? NaN : value / 1000));
    this.known.delete("hz"); // of another tone
    this.bands = this.bandsOf(kind);
    showKey(this.key, this.bands, this.unit);
    this.repaint();
  }

  seenFrom(side) {
    this.side = side;
    this.redraw();
  }

  /** Let a task draw over the plate: `draw(context, plan)` by a name under which it can be taken off again (with nothing). */
  over(name, draw) {
    if (!draw) this.overlays.delete(name);
    else this.overlays.set(name, draw);
    this.drawInk();
  }

  onView(listener) {
    this.listeners.add(listener);
  }

  offView(listener) {
    this.listeners.delete(listener);
  }

  /** Values of the map that is shown, in its unit. */
  get values() {
    if (this.kind === "hz") return this.hz;
    if (this.kind === "taken") return this.taken.map((value, i) => (Number.isNaN(this.thickness[i]) ? NaN : value));
    return this.thickness.map((value, i) => value - this.taken[i]);
  }

  get unit() {
    return this.kind === "hz" ? "Hz" : "mm";
  }

  /** Thickness left [mm] at a place [mm], NaN off the plate. */
  left(x, y) {
    return this.inside(x, y) ? this.sample(this.thickness, x, y) - this.sample(this.taken, x, y) : NaN;
  }

  sample(values, x, y) {
    const grid = this.picture.grid;
    const r = (x - grid.x0_mm) / grid.step_mm, c = (y - grid.y0_mm) / grid.step_mm;
    const r0 = Math.floor(r), c0 = Math.floor(c);
    if (r0 < 0 || c0 < 0 || r0 >= grid.rows - 1 || c0 >= grid.columns - 1) return NaN;
    const i = r0 * grid.columns + c0, u = r - r0, v = c - c0;
    const corners = [[i, (1 - u) * (1 - v)], [i + 1, (1 - u) * v], [i + grid.columns, u * (1 - v)], [i + grid.columns + 1, u * v]];
    let sum = 0, weight = 0;
    for (const [k, w] of corners) if (!Number.isNaN(values[k])) { sum += w * values[k]; weight += w; }
    return weight > 0 ? sum / weight : NaN;
  }

  isGuess(x, y) {
    const grid = this.picture.grid;
    const r = Math.round((x - grid.x0_mm) / grid.step_mm), c = Math.round((y - grid.y0_mm) / grid.step_mm);
    return this.picture.guess[r * grid.columns + c] === "1";
  }

  inside(x, y) {
    if (!this.edges) return false;
    const context = this.ink.getContext("2d");
    context.save();
    context.setTransform(1, 0, 0, 1, 0, 0);
    const [h, v] = this.toScreen(x, y);
    const found = context.isPointInPath(this.edges, h, v, "evenodd");
    context.restore();
    return found;
  }

  toScreen(x, y) {
    const across = this.side === "inside" ? y : -y;
    return [this.originH + across * this.scale, this.originV - x * this.scale];
  }

  toPlate(h, v) {
    const across = (h - this.originH) / this.scale;
    return [(this.originV - v) / this.scale, this.side === "inside" ? across : -across];
  }

  resize() {
    if (!this.picture) return;
    const box = this.ink.getBoundingClientRect();
    if (box.width < 10 || box.height < 10) return;
    this.ratio = Math.min(window.devicePixelRatio || 1, 3);
    this.width = box.width;
    this.height = box.height;
    for (const canvas of [this.field, this.ink]) {
      canvas.width = Math.round(box.width * this.ratio);
      canvas.height = Math.round(box.height * this.ratio);
    }
    this.redraw();
  }

  redraw() {
    if (!this.picture || !this.width) return;
    const [xmin, ymin, xmax, ymax] = this.picture.bounds_mm;
    const room = [this.width - RULER - KEY - 2 * MARGIN, this.height - RULER - 2 * MARGIN - 18];
    this.scale = Math.max(Math.min(room[0] / (ymax - ymin), room[1] / (xmax - xmin)), 0.05);
    const middleY = 0.5 * (ymin + ymax) * (this.side === "inside" ? 1 : -1);
    this.originH = RULER + MARGIN + room[0] / 2 - middleY * this.scale;
    this.originV = MARGIN + 18 + (room[1] + (xmax - xmin) * this.scale) / 2 + xmin * this.scale;
    this.numbers = new Numbers(this);
    this.edges = this.path([this.picture.edge_mm, ...this.picture.holes_mm]);
    this.repaint();
    for (const listener of this.listeners) listener();
  }

  path(rings) {
    const path = new Path2D();
    for (const ring of rings) {
      ring.forEach(([x, y], i) => { const [h, v] = this.toScreen(x, y); if (i) path.lineTo(h, v); else path.moveTo(h, v); });
      path.closePath();
    }
    return path;
  }

  line(points) {
    const path = new Path2D();
    points.forEach(([x, y], i) => { const [h, v] = this.toScreen(x, y); if (i) path.lineTo(h, v); else path.moveTo(h, v); });
    return path;
  }

  /** Draw the map anew, all of it or the rectangle of the grid that changed. */
  repaint(part = null) {
    if (!this.picture || !this.width) return;
    const values = this.values, grid = this.picture.grid;
    this.fine = Math.max(1, Math.min(5, Math.ceil(this.scale * grid.step_mm * Math.min(this.ratio, 1.5))));
    paintRaster(this.raster, grid, values, this.bands, this.fine, part);
    this.drawField(values);
    this.drawInk();
  }

  /** The bands of a kind of map, the same as long as the plate is. */
  bandsOf(kind) {
    const make = { thickness: () => thicknessBands(this.picture, this.thickness), taken: () => takenBands(this.picture, this.thickness), hz: () => changeBands(this.picture, this.hz) }[kind];
    if (!this.known.has(kind)) this.known.set(kind, make());
    return this.known.get(kind);
  }

  drawField(values) {
    const context = this.field.getContext("2d"), grid = this.picture.grid;
    context.setTransform(this.ratio, 0, 0, this.ratio, 0, 0);
    context.clearRect(0, 0, this.width, this.height);
    context.save();
    context.clip(this.edges, "evenodd");
    context.fillStyle = "#e9e2d3";
    context.fillRect(0, 0, this.width, this.height);
    // one pixel of the raster is one part of a step: row along the plate (up), column across
    const s = this.scale * grid.step_mm / this.fine;
    const [h0, v0] = this.toScreen(grid.x0_mm, grid.y0_mm);
    context.setTransform(this.ratio * (this.side === "inside" ? s : -s), 0, 0, -this.ratio * s, this.ratio * h0, this.ratio * v0);
    context.imageSmoothingEnabled = true;
    context.drawImage(this.raster, -0.5, -0.5);
    context.setTransform(this.ratio, 0, 0, this.ratio, 0, 0);
    this.drawLimit(context);
    this.drawGuesses(context);
    this.drawContours(context, values);
    context.restore();
  }

  drawContours(context, values) {
    const grid = this.picture.grid, inner = this.bands.lines(values);
    const place = ([r, c]) => [grid.x0_mm + r * grid.step_mm, grid.y0_mm + c * grid.step_mm];
    const labels = [];
    context.lineWidth = 0.9;
    context.strokeStyle = "rgba(29,26,23,.75)";
    contours(values, grid.rows, grid.columns, inner).forEach((lines, k) => {
      context.setLineDash(this.kind === "hz" && inner[k] < 0 ? [5, 3] : []);
      for (const line of lines) {
        const points = line.map(place);
        context.stroke(this.line(points));
        labels.push([this.bands.levelOf(inner[k]), points]);
      }
    });
    context.setLineDash([]);
    this.numbers.place(context, labels, this.bands.digits);
  }

  /** Hatch where the plate is thinner than the least that is wanted. */
  drawLimit(context) {
    const least = this.picture.least_mm;
    if (least === null) return;
    this.hatch(context, (i) => this.thickness[i] - this.taken[i] < least - 1e-4, "rgba(163,41,27,.9)", 5, 1.6);
  }

  drawGuesses(context) {
    const { guess } = this.picture;
    if (guess.includes("1")) this.hatch(context, (i) => guess[i] === "1", "rgba(29,26,23,.45)", 9, 0.8);
  }

  hatch(context, where, colour, gap, width) {
    const grid = this.picture.grid, half = 0.5 * grid.step_mm;
    const area = new Path2D();
    let any = false;
    for (let r = 0; r < grid.rows; r++) {
      for (let c = 0; c < grid.columns; c++) {
        if (!where(r * grid.columns + c)) continue;
        any = true;
        const x = grid.x0_mm + r * grid.step_mm, y = grid.y0_mm + c * grid.step_mm;
        const [h0, v0] = this.toScreen(x + half, y - half), [h1, v1] = this.toScreen(x - half, y + half);
        area.rect(Math.min(h0, h1), v0, Math.abs(h1 - h0), v1 - v0);
      }
    }
    if (!any) return;
    context.save();
    context.clip(area);
    context.strokeStyle = colour;
    context.lineWidth = width;
    context.beginPath();
    for (let h = -this.height; h < this.width; h += gap) { context.moveTo(h, this.height); context.lineTo(h + this.height, 0); }
    context.stroke();
    context.restore();
  }

  drawInk() {
    if (!this.picture || !this.width) return;
    const context = this.ink.getContext("2d"), picture = this.picture;
    context.setTransform(this.ratio, 0, 0, this.ratio, 0, 0);
    context.clearRect(0, 0, this.width, this.height);
    const ground = getComputedStyle(document.body);
    this.drawRuler(context, ground.color);
    this.drawReadings(context);
    context.lineWidth = 1;
    context.strokeStyle = QUIET;
    context.setLineDash([12, 3, 2, 3]);
    const [xmin, , xmax] = picture.bounds_mm;
    context.save();
    context.clip(this.edges, "evenodd");
    context.stroke(this.line([[xmin, 0], [xmax, 0]]));
    context.restore();
    if (picture.bar_mm) {
      context.strokeStyle = INK;
      context.setLineDash([5, 3]);
      context.stroke(this.path([picture.bar_mm]));
    }
    context.setLineDash([]);
    context.lineWidth = 1.8;
    context.strokeStyle = ground.color;
    context.stroke(this.edges);
    this.numbers.draw(context);
    for (const draw of this.overlays.values()) { context.save(); draw(context, this); context.restore(); }
  }

  drawReadings(context) {
    const readings = this.picture.readings_mm;
    const radius = Math.min(2, Math.max(0.9, 26 / Math.sqrt(readings.length + 1)));
    context.fillStyle = INK;
    for (const [x, y] of readings) {
      const [h, v] = this.toScreen(x, y);
      context.beginPath();
      context.arc(h, v, radius, 0, 7);
      context.fill();
    }
  }

  drawRuler(context, colour) {
    const [xmin, ymin, xmax, ymax] = this.picture.bounds_mm;
    const foot = this.toScreen(xmin, 0)[1] + MARGIN;
    const sides = [this.toScreen(0, ymin)[0], this.toScreen(0, ymax)[0]];
    const edge = Math.max(Math.min(...sides) - MARGIN, RULER - 2);
    context.strokeStyle = colour;
    context.fillStyle = colour;
    context.lineWidth = 1;
    context.font = "11px 'DejaVu Sans', 'Segoe UI', sans-serif";
    context.beginPath();
    context.textAlign = "right";
    context.textBaseline = "middle";
    for (let x = Math.ceil(xmin / 10) * 10; x <= xmax; x += 10) {
      const v = this.toScreen(x, 0)[1], long = x % 50 === 0;
      context.moveTo(edge, v);
      context.lineTo(edge - (long ? 8 : 4), v);
      if (long) context.fillText(`${x}`, edge - 10, v);
    }
    context.textAlign = "center";
    context.textBaseline = "top";
    for (let y = Math.ceil(ymin / 10) * 10; y <= ymax; y += 10) {
      const h = this.toScreen(0, y)[0], long = y % 50 === 0;
      context.moveTo(h, foot);
      context.lineTo(h, foot + (long ? 8 : 4));
      if (long) context.fillText(`${Math.abs(y)}`, h, foot + 9);
    }
    context.stroke();
    context.textBaseline = "alphabetic";
    context.font = "italic 13px Georgia, 'P052', serif";
    const top = this.toScreen(xmax, 0)[1] - 6;
    const joint = this.toScreen(0, 0)[0], [left, right] = this.side === "inside" ? [this.picture.sides[1], this.picture.sides[0]] : this.picture.sides;
    context.fillText(this.picture.ends[0], joint, top);
    const clear = 0.5 * context.measureText(this.picture.ends[0]).width + 10; // on a small plate the sides stand outside of it
    context.textAlign = "left";
    context.fillText(left, Math.min(Math.min(...sides) - 4, joint - clear - context.measureText(left).width), top);
    context.textAlign = "right";
    context.fillText(right, Math.max(Math.max(...sides) + 4, joint + clear + context.measureText(right).width), top);
  }

  /** Where a place lies and what stands there, in words: as seen on the screen. */
  words(x, y) {
    if (!this.inside(x, y)) return "Off the plate.";
    const across = this.side === "inside" ? y : -y;
    const [left, right] = this.picture.sides;
    const named = this.picture.role === "panel" ? "" : ` (${y > 0 ? left : right})`;
    const joint = this.picture.role === "panel" ? "centre line" : "joint";
    const aside = Math.abs(y) < 0.5 ? `on the ${joint}` : `${Math.abs(y).toFixed(0)} mm ${across < 0 ? "left" : "right"} of the ${joint}${named}`;
    const taken = this.sample(this.taken, x, y);
    const less = taken >= 0.005 ? ` (${taken.toFixed(2)} taken)` : "";
    const guess = this.isGuess(x, y) ? ", a guess: no reading near" : "";
    const shaving = this.kind === "hz" ? this.sample(this.hz, x, y) : NaN;
    const does = Number.isNaN(shaving) ? "" : `; a shaving: ${(shaving < 0 ? "\u2212" : "+") + Math.abs(shaving).toFixed(3)} Hz`;
    return `${this.left(x, y).toFixed(2)} mm here${less}${guess}, ${aside}, ${x.toFixed(0)} mm up${does}.`;
  }
}

function firstMark([xmin, ymin, xmax, ymax]) {
  return [Math.round(xmin + 0.24 * (xmax - xmin)), Math.round(ymin + 0.35 * (ymax - ymin))];
}
