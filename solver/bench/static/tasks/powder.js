// Powder: a photo of a pattern, the computed lines over the seen ones, and the places by which the plate is found.

import { bring, file, get, orSay, post } from "../api.js";
import { SEEN } from "../colours.js";
import { button, called, doneNote, el, svg } from "../elements.js";
import { progressLine, watch } from "../jobs.js";

export const NAME = "powder";
export const TITLE = "Powder";

const LARGEST = 60_000_000, SHOWN = 5, FEWEST = 4;
const COMPUTED = "#211c17";

/** What was kept just now: it stays in sight when the plate is read again with it, until the task is left. */
let kept = null;

export function enter(page, bench) {
  return new PowderTask(page, bench);
}

class PowderTask {
  constructor(page, bench) {
    this.bench = bench;
    this.here = true;
    this.addresses = [];
    this.open = el("input", { type: "file", id: "photo", accept: ".jpg,.jpeg,.png,image/jpeg,image/png", change: () => this.opened() });
    this.hz = el("input", { type: "number", id: "played", min: "10", max: "5000", step: "any" });
    this.seen = el("select", { id: "seen-side" }, ...[["", "not said"], ["inside", "the inside"], ["outside", "the outside"]].map(([value, words]) => el("option", { value }, words)));
    this.said = el("p", { role: "alert", class: "warn", id: "powder-said" });
    this.going = progressLine();
    this.pointing = el("div", { id: "pointing" });
    this.result = el("div", { id: "powder-result" });
    this.turned = new AbortController();
    document.getElementById("side").addEventListener("change", () => this.shownScore && this.overlay(this.shownScore), { signal: this.turned.signal });
    page.append(
      el("h2", {}, "Powder"),
      el("p", { class: "quiet" }, "A photo of the whole plate from above, its powder gathered in lines, on a bench of another colour."),
      el("div", { class: "fields" },
        el("label", { class: "field" }, "A photo (JPEG or PNG)", this.open),
        el("label", { class: "field" }, "Played, Hz", this.hz),
        el("label", { class: "field" }, "Photographed from", this.seen)),
      this.going.line, this.said, this.result, this.pointing,
      el("p", { class: "caution" }, "A loudspeaker that moves powder is loud: protect your ears. Do not breathe the powder."),
    );
    const { plate, told, flat, written } = kept ?? {};
    kept = null;
    if (plate !== bench.picture.plate) return;
    Object.assign(this, { told, flat });
    this.build(doneNote(`Kept as ${written.join(" and ")}.`));
  }

  leave() {
    this.here = false;
    this.turned.abort();
    this.addresses.forEach((address) => URL.revokeObjectURL(address));
  }

  address(content) {
    this.addresses.push(URL.createObjectURL(content));
    return this.addresses[this.addresses.length - 1];
  }

  async opened() {
    const [one] = this.open.files;
    if (!one) return;
    this.brought = null;
    this.result.replaceChildren();
    this.pointing.replaceChildren();
    await orSay(this.said, async () => {
      if (one.size > LARGEST) {
        this.said.textContent = `${one.name}: it has ${(one.size / 1e6).toFixed(0)} MB; expected at most ${LARGEST / 1e6}. Save it at half its size.`;
        return;
      }
      const brought = await bring(this.bench.path("/brought"), one, one.name);
      const { places } = await get(this.bench.path("/powder"));
      if (!this.here) return;
      this.brought = brought;
      await this.point(one, places);
      await this.read([]);
    });
  }

  /** The photo with its landmarks, to be clicked, dragged, or typed. */
  async point(content, places) {
    const picture = new Image();
    picture.src = this.address(content);
    try { await picture.decode(); } catch { return; } // what is no picture gets its sentence from the reading
    const { naturalWidth: wide, naturalHeight: high } = picture;
    this.photo = svg("svg", { viewBox: `0 0 ${wide} ${high}`, class: "photo", role: "img", "aria-label": "The photo with the places pointed out; they can be typed below" });
    this.photo.append(svg("image", { href: picture.src, width: wide, height: high }));
    this.size = Math.max(wide, high) / 60;
    this.marks = [...places.map((place) => this.mark(place)), this.mark("")];
    this.photo.addEventListener("pointerdown", (event) => this.down(event));
    this.photo.addEventListener("pointermove", (event) => this.held && this.move(this.held, event));
    for (const end of ["pointerup", "pointercancel"]) this.photo.addEventListener(end, () => { this.held = null; });
    const head = (words) => el("th", { scope: "col" }, words);
    this.pointing.replaceChildren(
      el("h3", {}, "Where the plate lies on the photo"),
      el("p", { class: "quiet" }, "Drag a point, click on the photo for the next empty one, or type. Left and right are those of the plate seen from the outside; a place is a name, or x,y in mm."),
      this.photo,
      el("table", { id: "landmarks" }, el("thead", {}, el("tr", {}, ...["Place", "Column", "Row"].map(head))), el("tbody", {}, ...this.marks.map((mark) => mark.line))),
      el("div", { class: "buttons" }, button("Read with these places", () => this.again(), { id: "read-again" }), button("Find by the edge", () => orSay(this.said, () => this.read([])))));
  }

  mark(place) {
    const called = place || "another place";
    const field = (words, kind) => el("input", { type: kind, "aria-label": `${words} of ${called}`, step: kind === "number" && "any", input: () => this.draw() });
    const name = el("input", { type: "text", value: place, "aria-label": `Name of ${called}`, size: "14" });
    const [column, row] = [field("Column", "number"), field("Row", "number")];
    const dot = svg("g", { class: "landmark", visibility: "hidden" });
    dot.append(svg("circle", { r: this.size, fill: "none", stroke: "#ffffff", "stroke-width": this.size / 3 }), svg("circle", { r: this.size, fill: "none", stroke: SEEN, "stroke-width": this.size / 6 }), svg("circle", { r: this.size / 8, fill: SEEN }));
    this.photo.append(dot);
    return { name, column, row, dot, line: el("tr", {}, el("td", {}, name), el("td", {}, column), el("td", {}, row)) };
  }

  down(event) {
    const at = this.pixel(event);
    const near = this.marks.filter((mark) => mark.column.value !== "" && Math.hypot(mark.column.value - at.x, mark.row.value - at.y) < 2 * this.size);
    this.held = near[0] ?? this.marks.find((mark) => mark.column.value === "" || mark.row.value === "");
    if (!this.held) return;
    event.preventDefault();
    this.photo.setPointerCapture(event.pointerId);
    this.move(this.held, event);
  }

  move(mark, event) {
    const at = this.pixel(event);
    mark.column.value = at.x.toFixed(1);
    mark.row.value = at.y.toFixed(1);
    this.draw();
  }

  pixel(event) {
    return new DOMPoint(event.clientX, event.clientY).matrixTransform(this.photo.getScreenCTM().inverse());
  }

  draw() {
    for (const { dot, column, row } of this.marks) {
      const there = column.value !== "" && row.value !== "";
      dot.setAttribute("visibility", there ? "visible" : "hidden");
      if (there) dot.setAttribute("transform", `translate(${column.value} ${row.value})`);
    }
  }

  again() {
    const given = this.marks.filter(({ column, row }) => column.value !== "" && row.value !== "");
    if (given.length < FEWEST) { this.said.textContent = `${given.length} places are pointed out; expected ${FEWEST} or more, well apart.`; return; }
    orSay(this.said, () => this.read(given.map(({ name, column, row }) => `${Number(column.value)},${Number(row.value)}=${name.value.trim()}`)));
  }

  async read(landmarks) {
    this.result.replaceChildren();
    const { brought } = this;
    const job = await post(this.bench.path("/powder"), { mark: this.bench.picture.mark, brought, hz: this.hz.value === "" ? null : Number(this.hz.value), seen: this.seen.value, landmarks });
    const still = () => this.here && this.brought === brought;
    const end = await watch(job, { onTold: (told) => this.going.show(told), still });
    if (!still()) return;
    if (end.state !== "done") { this.said.textContent = end.said; return; }
    this.told = end.result;
    this.flat = await file(this.bench.path(`/powder/${brought}/flat`));
    if (landmarks.length === 0) this.place(this.told.places);
    this.build();
  }

  /** Put the points where the plate was found, so that they can be put right. */
  place(places) {
    places.forEach(({ place, pixel }, k) => {
      this.marks[k].name.value = place;
      [this.marks[k].column.value, this.marks[k].row.value] = pixel.map((value) => value.toFixed(1));
    });
    this.draw();
  }

  /** Show what was read, and under it what is to be done with it, or was. */
  build(ending = el("div", { class: "buttons" }, button("Keep the photo and its lines", () => orSay(this.said, () => this.keep()), { class: "main", id: "keep-lines" }))) {
    this.flatAddress = this.address(this.flat);
    const { scores, best, words, warnings } = this.told;
    const ranked = [...scores].sort((a, b) => (b.order === best.order) - (a.order === best.order) || b.score - a.score).slice(0, SHOWN);
    const head = (text) => el("th", { scope: "col" }, text);
    this.over = el("div", { id: "laid-flat" });
    this.lies = el("p", { class: "quiet", id: "how-it-lies" });
    this.picks = ranked.map((score) => button(called(score), () => this.overlay(score), { "aria-pressed": "false", "data-order": String(score.order) }));
    const table = el("table", { id: "scores" },
      el("caption", { class: "quiet" }, "Choose one to see its computed lines over the seen ones. Score: how much of the seen and of the computed lines lie on one another, from 0 for nothing to 1 for all."),
      el("thead", {}, el("tr", {}, ...["Mode", "Computed, Hz", "Score", "Half within, mm"].map(head))),
      el("tbody", {}, ...ranked.map((score, k) => el("tr", {}, el("th", { scope: "row" }, this.picks[k]), el("td", {}, score.hz.toFixed(1)), el("td", {}, score.score.toFixed(2)), el("td", {}, score.median_mm === null ? "-" : score.median_mm.toFixed(1))))));
    this.result.replaceChildren(
      ...warnings.map((text) => el("p", { class: "warn" }, text)),
      el("div", { class: "beside-photo" }, this.over, el("div", {},
        ...words.map((text) => el("p", {}, text)),
        ending,
        el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Modes that fit" }, table),
        el("p", { class: "quiet" }, "Blue: seen on the photo. Black and dashed: computed. Numbers: where they part, with the gap."),
        this.lies)));
    this.overlay(best);
  }

  /** Lay the computed lines of a mode over the flat photo, which is shown from the side that the plan is seen from. */
  overlay(score) {
    this.shownScore = score;
    const { side } = this.bench.plan, turn = side === "inside" ? -1 : 1;
    this.lies.textContent = `Laid flat as the plan beside it, from the ${side}.`;
    this.picks.forEach((pick) => pick.setAttribute("aria-pressed", String(pick.dataset.order === String(score.order))));
    const { bounds_mm: [low, below, top, right], seen_mm: seen, computed_mm: computed, partings, best } = this.told;
    const wide = right - below, high = top - low, line = wide / 260;
    const flat = svg("svg", { viewBox: `${turn > 0 ? -right : below} ${-top} ${wide} ${high}`, class: "photo", role: "img", "aria-label": "The plate laid flat with the computed lines over the seen ones; the words below say where they part" });
    const turned = svg("g", { transform: `scale(${turn} 1)` }, svg("image", { href: this.flatAddress, x: -right, y: -top, width: wide, height: high, opacity: 0.55, preserveAspectRatio: "none" }));
    flat.append(turned);
    const draw = (lines, marks) => lines.forEach((points) => turned.append(svg("polyline", { points: points.map(([x, y]) => `${-y},${-x}`).join(" "), fill: "none", ...marks })));
    draw(seen, { stroke: "#ffffff", "stroke-width": 4 * line });
    draw(seen, { stroke: SEEN, "stroke-width": 2.2 * line, class: "seen-line" });
    draw(computed[score.order - 1], { stroke: COMPUTED, "stroke-width": 1.5 * line, "stroke-dasharray": `${5 * line} ${3 * line}`, class: "computed-line" });
    if (score.order === best.order) {
      partings.forEach(({ at_mm: [x, y], off_mm: off }, k) => {
        const words = svg("text", { x: -y * turn + 4 * line, y: -x - 4 * line, "font-size": 10 * line, fill: COMPUTED, stroke: "#ffffff", "stroke-width": 2.5 * line, "paint-order": "stroke" });
        words.textContent = `${k + 1}: ${Math.hypot(...off).toFixed(1)} mm`;
        flat.append(words);
      });
    }
    this.over.replaceChildren(flat);
  }

  async keep() {
    const { written } = await post(this.bench.path("/powder/lines"), { mark: this.bench.picture.mark, brought: this.brought });
    kept = { plate: this.bench.picture.plate, told: this.told, flat: this.flat, written };
    await this.bench.readAgain();
  }
}
