// The numbers on the lines of a map: clear of each other, of the edge, and where it can be of the joint, along which node lines run.

import { levelWords } from "./scales.js";

const INK = "#1d1a17";
const LETTERS = "12px 'DejaVu Sans', 'Segoe UI', sans-serif";
const HIGH = 16;
/** Lines shorter than this [px] get a number only where no longer one has any. */
const SHORT = 40, SHORTEST = 22;

export class Numbers {
  constructor(plan) {
    this.plan = plan;
    this.placed = [];
    this.boxes = new Map();
  }

  /** Find places for the numbers of lines [level, points], the longest first; the line of nought tells itself, between plus and minus. */
  place(context, labels, digits) {
    const { plan } = this, [joint] = plan.toScreen(0, 0);
    const long = ([, points]) => points.length * plan.picture.grid.step_mm * plan.scale;
    const sorted = labels.filter(([level]) => level !== 0).sort((a, b) => long(b) - long(a));
    context.font = LETTERS;
    this.placed = [];
    for (const [level, points] of sorted) {
      if (long([level, points]) < (this.placed.length ? SHORT : SHORTEST)) break;
      const words = levelWords(level, digits), half = context.measureText(words).width / 2 + 3;
      const beside = ([h]) => Math.abs(h - joint) > half + 6;
      const tries = [0.5, 0.42, 0.58, 0.25, 0.75, 0.1, 0.9].map((share) => plan.toScreen(...points[Math.floor(share * (points.length - 1))]));
      const place = [...tries.filter(beside), ...tries.filter((at) => !beside(at))].find(([h, v]) =>
        this.placed.every((other) => Math.abs(other.h - h) >= other.half + half || Math.abs(other.v - v) >= HIGH) && this.boxInside(context, h, v, half));
      if (place) this.placed.push({ words, half, h: place[0], v: place[1] });
    }
  }

  draw(context) {
    context.font = LETTERS;
    context.textAlign = "center";
    context.textBaseline = "middle";
    context.lineJoin = "round";
    context.lineWidth = 3.5;
    context.strokeStyle = "rgba(255,253,247,.85)";
    context.fillStyle = INK;
    for (const { words, h, v } of this.placed) {
      context.strokeText(words, h, v);
      context.fillText(words, h, v);
    }
  }

  /** Whether the box of a number lies on wood, with no hole running between its corners; looked up once for a place on the screen. */
  boxInside(context, h, v, half) {
    const key = [h, v, half].map(Math.round).join();
    if (!this.boxes.has(key)) this.boxes.set(key, this.boxClear(context, h, v, half));
    return this.boxes.get(key);
  }

  boxClear(context, h, v, half) {
    const shares = [-1, -0.5, 0, 0.5, 1];
    return shares.every((across) => shares.every((up) => this.pointInside(context, h + across * half, v + up * 8)));
  }

  pointInside(context, h, v) {
    context.save();
    context.setTransform(1, 0, 0, 1, 0, 0);
    const found = context.isPointInPath(this.plan.edges, h, v, "evenodd");
    context.restore();
    return found;
  }
}
