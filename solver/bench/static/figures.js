// The figures of a trial beside its tones.

import { el } from "./elements.js";

/** Mass, what was taken, thinnest place; and what to beware of. */
export class Figures {
  constructor() {
    this.cells = ["Mass", "Taken", "Deepest", "Thinnest"].map((name) => [name, el("dd", {}, "")]);
    this.where = el("dd", { class: "quiet" });
    this.list = el("dl", { class: "figures", id: "figures" }, ...this.cells.map(([name, cell]) => el("div", {}, el("dt", {}, name), cell)));
    this.list.lastChild.append(this.where);
    this.warning = el("p", { class: "warn", id: "beware", role: "status" });
  }

  show(state, untouched, least) {
    const words = [
      `${state.mass_g.toFixed(2)} g`,
      `${state.removed_g.toFixed(2)} g`,
      `${state.deepest_mm.toFixed(2)} mm`,
      `${state.thinnest_mm.toFixed(2)} mm`,
    ];
    if (this.where.textContent !== state.thinnest_words) this.where.textContent = state.thinnest_words;
    this.cells.forEach(([, cell], k) => { if (cell.textContent !== words[k]) cell.textContent = words[k]; });
    const beware = [];
    if (state.too_thin) beware.push(`Thinner than the ${least} mm wanted at least, where wood was taken.`);
    if (!state.holds) beware.push("So much is taken that the quick answer is not sure to 1 %: carve part of it, measure, and read the plate again.");
    if (this.warning.textContent !== beware.join(" ")) this.warning.textContent = beware.join(" ");
  }
}
