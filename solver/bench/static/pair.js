// The pair: the plate on the bench beside another of the other role, and what would bring both into the wanted relation.

import { get, orSay, post } from "./api.js";
import { drawing } from "./drawings.js";
import { button, el, signed } from "./elements.js";
import { progressLine, watch } from "./jobs.js";

const MODES = ["1", "2", "3", "4", "5", "6", "7", "8"];

export class Pair {
  constructor(page, bench) {
    this.page = page;
    this.bench = bench;
    this.here = true;
    this.begin();
  }

  leave() {
    this.here = false;
    this.drawn?.drop();
  }

  async begin() {
    let offered;
    try {
      offered = await get(this.bench.path("/pair"));
    } catch (refusal) {
      if (refusal.status === undefined) throw refusal;
      this.page.replaceChildren(el("p", {}, refusal.message));
      return;
    }
    if (this.here) this.build(offered);
  }

  build({ role, others, intervals }) {
    const other = role === "top" ? "back" : "top";
    if (!others.length) {
      this.page.replaceChildren(el("p", { id: "no-partner" }, `No ${other} is known here: open one from Plates, and it is offered.`));
      return;
    }
    this.other = el("select", { id: "pair-other" }, ...others.map((one) => el("option", { value: one.offer }, `${one.title} (${one.folder.split(/[\\/]/).slice(-1)})`)));
    this.relations = el("div", { id: "relations" });
    this.warm = el("input", { type: "text", id: "pair-warm", size: "5", inputmode: "decimal", autocomplete: "off" });
    this.damp = el("input", { type: "text", id: "pair-damp", size: "5", inputmode: "decimal", autocomplete: "off" });
    this.said = el("p", { id: "pair-said", role: "status", class: "warn" });
    this.going = progressLine("pair-work");
    this.result = el("div", { id: "pair-result" });
    this.page.replaceChildren(
      el("form", { submit: (event) => { event.preventDefault(); this.compare(); } },
        el("div", { class: "fields" }, el("label", { class: "field" }, `The ${other}`, this.other)),
        el("fieldset", { class: "boxed" }, el("legend", {}, "By how much the back is to lie above the top"),
          el("div", { class: "limits" }, this.relations, button("Another mode", () => this.relation(), { id: "another-relation" })),
          el("datalist", { id: "intervals" }, ...intervals.map((words) => el("option", { value: words }))),
          el("p", { class: "quiet", id: "about-relation" }, "In words, as semitone, or in cents, of which a semitone has 100; below 0 the back is to lie under the top. Without the second: exactly the first. Nothing chosen: the intervals are shown and not judged.")),
        el("div", { class: "fields" },
          el("label", { class: "field" }, "Both in a room of \u00b0C", this.warm), el("label", { class: "field" }, "and % humidity", this.damp),
          el("span", { class: "quiet" }, "left empty: the room of the top")),
        el("div", { class: "buttons" }, el("button", { type: "submit", class: "main", id: "compare" }, "Hold them side by side"))),
      this.going.line, this.said, this.result);
    this.relation();
  }

  /** One more line for a mode with the ends of its interval. */
  relation() {
    const number = this.relations.childElementCount + 1;
    const mode = el("select", { id: `relation-mode-${number}` }, ...["", ...MODES].map((name) => el("option", { value: name }, name)));
    const ends = [["low", "from"], ["high", "to"]].map(([id, words]) => el("label", { class: "field" }, words,
      el("input", { type: "text", id: `relation-${id}-${number}`, size: "11", list: "intervals", autocomplete: "off", "aria-describedby": "about-relation" })));
    this.relations.append(el("div", { class: "fields", role: "group", "aria-label": `Relation ${number}` }, el("label", { class: "field" }, "Mode", mode), ...ends));
  }

  get wanted() {
    return [...this.relations.children].map((line) => {
      const [mode, low, high] = line.querySelectorAll("select, input");
      return { mode: mode.value, low: low.value, high: high.value };
    });
  }

  async compare() {
    this.drawn?.drop();
    this.result.replaceChildren();
    await orSay(this.said, async () => {
      const job = await post(this.bench.path("/pair"), { mark: this.bench.picture.mark, other: this.other.value, relations: this.wanted, room: [this.warm.value, this.damp.value] });
      const end = await watch(job, { onTold: (told) => this.going.show(told), still: () => this.here });
      if (!this.here) return;
      if (end.state === "done") this.show(end.result);
      else this.said.textContent = end.said;
    });
  }

  show(pair) {
    const { temperature_c: warm, humidity_pct: damp } = pair.room;
    const rows = pair.modes.flatMap((mode) => [
      ...(mode.heard ? [cells(`mode ${mode.mode}`, "heard", mode)] : []),
      cells(mode.heard ? "" : `mode ${mode.mode}`, "computed", mode.computed),
    ]);
    const mass = (key, words) => (pair.top[key] === null && pair.back[key] === null ? [] : [["mass, g", words, ...[pair.top, pair.back].map((one) => one[key]?.toFixed(1) ?? ""), "", ""]]);
    const weights = [...mass("weighed_g", "weighed"), ...mass("mass_g", "computed")].map((row, k) => (k ? ["", ...row.slice(1)] : row));
    this.drawn = drawing(pair, "Cents by which each mode of the back lies above the top's, as in the table above");
    this.result.replaceChildren(
      el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Top and back side by side" }, el("table", { id: "pair-modes", class: "close" },
        el("caption", {}, `Both at ${warm} \u00b0C and ${damp} %: the back against the top`),
        el("thead", {}, el("tr", {}, ...["Tone", "By", "Top, Hz", "Back, Hz", "Cents", "In words"].map((head, k) => el("th", { scope: "col", class: k === 1 || k === 5 ? "words" : null }, head)))),
        el("tbody", {}, ...rows.concat(weights).map(([name, ...rest]) => el("tr", {}, name ? el("th", { scope: "row" }, name) : el("td", {}), ...rest.map((words, k) => el("td", { class: k === 0 || k === 4 ? "words" : null }, words))))))),
      ...pair.words.map((words) => el("p", {}, words)),
      this.drawn.shown);
  }
}

function cells(name, by, tone) {
  const ends = [signed(tone.low_cents, 0), signed(tone.high_cents, 0)];
  return [name, by, tone.top_hz.toFixed(1), tone.back_hz.toFixed(1), ends[0] === ends[1] ? ends[0] : `${ends[0]} to ${ends[1]}`, tone.in_words];
}
