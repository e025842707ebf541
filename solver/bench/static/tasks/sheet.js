// Sheet: how the plate lies on paper, and the PDF to be printed at its true size.

import { file, get, orSay, post } from "../api.js";
import { button, el, svg } from "../elements.js";
import { progressLine, watch } from "../jobs.js";

export const NAME = "sheet";
export const TITLE = "Sheet";

const INK = "#211c17", PAPER_EDGE = "#1b4f8a";

export function enter(page, bench) {
  return new SheetTask(page, bench);
}

class SheetTask {
  constructor(page, bench) {
    this.bench = bench;
    this.here = true;
    this.paper = el("select", { id: "paper", change: () => this.preview() }, ...["A4", "Letter", "A3", "roll"].map((name) => el("option", { value: name }, name)));
    this.step = el("select", { id: "contour" }, ...[["", "by need"], ["0.05", "0.05 mm"], ["0.1", "0.1 mm"], ["0.2", "0.2 mm"], ["0.25", "0.25 mm"], ["0.5", "0.5 mm"]].map(([value, words]) => el("option", { value }, words)));
    this.of = el("select", { id: "of", change: () => this.sayPlan() }, el("option", { value: "" }, "the plate as it is"));
    this.plan = el("input", { type: "checkbox", id: "with-plan", change: () => this.sayPlan() });
    this.passes = el("select", { id: "passes", disabled: true });
    this.wishes = el("p", { class: "quiet", id: "wishes", role: "status" });
    this.planned = el("div", { id: "planned" });
    this.laid = el("div", { id: "laid" });
    this.words = el("p", { id: "pages", role: "status" });
    this.said = el("p", { role: "alert", class: "warn", id: "sheet-said" });
    this.going = progressLine("sheet-work");
    this.link = el("p", { id: "download" });
    page.append(
      el("h2", {}, "Sheet"),
      el("p", { class: "quiet" }, "The plate at 1:1 to take to the bench: thickness lines with numbers, where to hold and tap it, the log, rulers to check the print by."),
      el("div", { class: "two-up", id: "sheet-sides" },
        el("div", {}, ...this.asking(), this.going.line, this.said, this.link, this.planned),
        el("div", {}, this.words, this.laid, el("p", { class: "quiet" }, "Print at 100 %, not fitted to the page, and measure both rulers before you trust it."))),
    );
    this.preview();
  }

  /** What is asked of the maker before the PDF is drawn. */
  asking() {
    return [
      el("div", { class: "fields" },
        el("label", { class: "field" }, "Of", this.of),
        el("label", { class: "field" }, "Paper", this.paper),
        el("label", { class: "field" }, "Lines of thickness every", this.step),
      ),
      el("fieldset", { class: "boxed" }, el("legend", {}, "A carving plan"),
        el("div", { class: "fields" },
          el("label", { class: "field" }, this.plan, "with the first pass of a plan for what is wanted"),
          el("label", { class: "field" }, "in so many passes", this.passes)),
        this.wishes),
      el("div", { class: "buttons" }, button("Draw the PDF", () => this.draw(), { class: "main", id: "draw" })),
    ];
  }

  leave() {
    this.here = false;
    this.showTaken(null);
    if (this.address) URL.revokeObjectURL(this.address);
  }

  async preview() {
    await orSay(this.said, async () => {
      const paper = this.paper.value;
      const laid = await get(`${this.bench.path("/sheet")}?paper=${encodeURIComponent(paper)}`);
      if (!this.here || paper !== this.paper.value) return;
      this.tell(laid);
      this.words.textContent = `${laid.said[0].toUpperCase()}${laid.said.slice(1)}`;
      this.laid.replaceChildren(picture(this.bench.picture, laid.tiles, this.words.textContent));
    });
  }

  /** What a plan would go by. */
  tell({ passes, wishes, trials }) {
    const chosen = this.of.value;
    this.of.replaceChildren(el("option", { value: "" }, "the plate as it is"), ...trials.map((name) => el("option", { value: name }, `the trial "${name}"`)));
    this.of.value = trials.includes(chosen) ? chosen : "";
    if (!this.passes.options.length) this.passes.replaceChildren(...passes.map((count) => el("option", { value: String(count) }, String(count))));
    const tones = Object.entries(wishes.modes_hz).map(([mode, hz]) => `mode ${mode} at ${hz} Hz`);
    this.wanted = tones.length ? `It is made for ${tones.join(", ")}${wishes.least_mm === null ? "" : `, nowhere under ${wishes.least_mm} mm`}, as Wanted in Describe says.` : "Nothing is wanted yet: say in Describe, under Wanted, what a plan is to be made for.";
    this.sayPlan();
  }

  sayPlan() {
    const trial = this.of.value;
    this.plan.disabled = trial !== "";
    if (trial) this.plan.checked = false;
    this.passes.disabled = !this.plan.checked;
    this.wishes.textContent = trial ? `The sheet shows all the wood that the trial "${trial}" of Thin takes.` : this.plan.checked ? this.wanted : "The sheet shows the plate as it is; choose a trial of Thin above, or a plan here, for wood to take.";
  }

  /** Show the wood to take on the plate in plan, or the plate as it is again. */
  showTaken(um) {
    if (!um && !this.shows) return;
    this.shows = Boolean(um);
    this.bench.plan.setTaken(um);
    this.bench.colourBy(um ? "taken" : "thickness");
  }

  async draw() {
    await orSay(this.said, async () => {
      this.link.replaceChildren();
      this.planned.replaceChildren();
      this.showTaken(null);
      const passes = this.plan.checked ? Number(this.passes.value) : null;
      const contour = this.step.value === "" ? null : Number(this.step.value);
      const job = await post(this.bench.path("/sheet"), { mark: this.bench.picture.mark, paper: this.paper.value, contour_mm: contour, passes, trial: this.of.value || null });
      const end = await watch(job, { onTold: (told) => this.going.show(told), still: () => this.here });
      if (!this.here) return;
      if (end.state !== "done") { this.said.textContent = end.said; return; }
      await this.offer(end.result.bytes);
      if (!end.result.taken_um) return;
      this.planned.replaceChildren(
        ...end.result.said.map((words) => el("p", {}, words)),
        el("p", { class: "quiet" }, `The plate beside shows what ${this.of.value ? "this trial" : "this pass"} takes, in mm.`));
      this.showTaken(end.result.taken_um);
    });
  }

  async offer(bytes) {
    if (this.address) URL.revokeObjectURL(this.address);
    this.address = URL.createObjectURL(await file(this.bench.path("/sheet.pdf")));
    const name = `${this.bench.picture.folder.split(/[\\/]/).pop()}-sheet.pdf`;
    const link = el("a", { href: this.address, download: name }, `Save ${name}`);
    this.link.replaceChildren(link, ` (${(bytes / 1000).toFixed(0)} kB)`);
    link.focus();
  }
}

/** The plate under its sheets of paper, seen from the inside; each sheet with its name at its left, clear of where two overlap. */
function picture(plate, tiles, words) {
  const left = Math.min(...tiles.map((tile) => tile.left)) - 6, right = Math.max(...tiles.map((tile) => tile.left + tile.width)) + 6;
  const bottom = Math.min(...tiles.map((tile) => tile.bottom)) - 6, top = Math.max(...tiles.map((tile) => tile.bottom + tile.height)) + 6;
  const wide = right - left, high = top - bottom, zoom = Math.min(520 / wide, 420 / high);
  const drawn = svg("svg", { viewBox: `${left} ${-top} ${wide} ${high}`, width: Math.round(wide * zoom), height: Math.round(high * zoom), class: "paper", role: "img", "aria-label": `Preview: ${words}` });
  const rings = [plate.edge_mm, ...plate.holes_mm].map((ring) => `M${ring.map(([x, y]) => `${y},${-x}`).join("L")}Z`).join("");
  drawn.append(svg("path", { d: rings, fill: "#f3d9a4", "fill-rule": "evenodd", stroke: INK, "stroke-width": 1 / zoom * 1.4 }));
  if (plate.bar_mm) drawn.append(svg("path", { d: `M${plate.bar_mm.map(([x, y]) => `${y},${-x}`).join("L")}Z`, fill: "none", stroke: INK, "stroke-width": 1 / zoom, "stroke-dasharray": `${5 / zoom} ${3 / zoom}` }));
  for (const tile of tiles) {
    drawn.append(svg("rect", { x: tile.left, y: -tile.bottom - tile.height, width: tile.width, height: tile.height, fill: "none", stroke: PAPER_EDGE, "stroke-width": 1.4 / zoom }));
    if (tiles.length > 1) {
      drawn.append(svg("text", { x: tile.left + 22 / zoom, y: -tile.bottom - tile.height / 2, "font-size": 14 / zoom, "text-anchor": "middle", fill: PAPER_EDGE }, tile.name));
    }
  }
  return drawn;
}
