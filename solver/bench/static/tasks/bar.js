// Bar: another bar tried beside the one the plate has, with the tones and node lines of both.

import { get, orSay, post } from "../api.js";
import { AFTER, BEFORE } from "../colours.js";
import { button, called, el, signed } from "../elements.js";
import { progressLine, watch } from "../jobs.js";
import { drawLines } from "../plan_marks.js";
import { interval, SURE } from "../tones.js";

export const NAME = "bar";
export const TITLE = "Bar";

const STALE = "Below and on the plan: the bar that was tried last, not the one in the fields. Try this one, or go back, before you use it.";

export function enter(page, bench) {
  return new BarTask(page, bench);
}

class BarTask {
  constructor(page, bench) {
    this.page = page;
    this.bench = bench;
    this.here = true;
    this.shown = 0;
    this.begin();
  }

  leave() {
    this.here = false;
    this.bench.plan.over("bar", null);
  }

  async begin() {
    const heading = el("h2", {}, "Bar");
    this.page.replaceChildren(heading);
    try {
      this.present = await get(this.bench.path("/bar"));
    } catch (refusal) {
      this.page.replaceChildren(heading, el("p", {}, refusal.message));
      return;
    }
    if (this.here) this.build(heading);
  }

  build(heading) {
    const { present } = this, [xmin, ymin, xmax, ymax] = this.bench.picture.bounds_mm;
    const middle = [0, 1].map((k) => 0.5 * (present.from_mm[k] + present.to_mm[k]));
    const long = present.length_mm, big = (xmax - xmin) / 355;
    this.sliders = {
      along: this.slider("along", "Middle, mm up", middle[0], xmin + 0.3 * (xmax - xmin), xmin + 0.7 * (xmax - xmin), 0.5),
      aside: this.slider("aside", "Middle, mm from the joint", middle[1], ymin / 2, ymax / 2, 0.25),
      slant: this.slider("slant", "Slant, mm over its length", present.from_mm[1] - present.to_mm[1], -20 * big, 20 * big, 0.25),
      length: this.slider("length", "Length, mm", long, 0.6 * long, Math.min(1.25 * long, 0.95 * (xmax - xmin)), 0.5),
      height: this.slider("height", "Height, mm", present.height_mm, 2 * big, 18 * big, 0.1),
      width: this.slider("width", "Width, mm", present.width_mm, 2 * big, 12 * big, 0.1),
    };
    this.said = el("p", { role: "alert", class: "warn", id: "bar-said" });
    this.going = progressLine("bar-work");
    this.result = el("div", { id: "bar-result" });
    this.page.replaceChildren(
      heading,
      el("p", { class: "quiet" }, present.usual ? "The plate has no bar; taken is the usual one for its length (common practice, no source)." : "The bar as it is, and another beside it. Its taper keeps its form."),
      el("div", { class: "two-up" },
        el("div", {},
          el("div", { class: "sliders" }, ...Object.values(this.sliders).map((one) => one.line)),
          el("div", { class: "buttons" },
            button("Try this bar", () => this.tryIt(), { class: "main", id: "try-bar" }),
            button("Back to the bar as it is", () => this.reset())),
          this.going.line, this.said),
        this.result),
      el("p", { class: "caution" }, "Hot glue burns; keep the blade behind the work. Leave the bar a hair high, tap, and take it down in small steps."),
    );
    this.drawOver();
  }

  slider(id, words, value, low, high, step) {
    const begin = Math.round(value / step) * step;
    const range = el("input", { type: "range", id: `bar-${id}`, min: String(Math.floor(Math.min(low, value))), max: String(Math.ceil(Math.max(high, value))), step: "any", value: String(begin) });
    const number = el("input", { type: "number", id: `bar-${id}-mm`, step: String(step), value: String(tidy(value)), "aria-label": words });
    range.addEventListener("input", () => { number.value = String(tidy(Math.round(Number(range.value) / step) * step)); this.drawOver(); });
    range.addEventListener("keydown", (event) => {
      const way = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1 }[event.key];
      if (way === undefined) return;
      event.preventDefault();
      number.value = String(tidy(Number(number.value) + way * step));
      range.value = number.value;
      this.drawOver();
    });
    number.addEventListener("input", () => { range.value = number.value; this.drawOver(); });
    return { line: el("div", { class: "slider" }, el("label", { for: `bar-${id}` }, words), range, number), words, number, range, value };
  }

  get asked() {
    const at = Object.fromEntries(Object.entries(this.sliders).map(([name, one]) => [name, Number(one.number.value)]));
    const across = 0.5 * at.slant, along = Math.sqrt(Math.max(0.25 * at.length ** 2 - across ** 2, 0));
    return {
      from_mm: [tidy(at.along - along), tidy(at.aside + across)],
      to_mm: [tidy(at.along + along), tidy(at.aside - across)],
      width_mm: at.width,
      height_mm: at.height,
    };
  }

  reset() {
    for (const one of Object.values(this.sliders)) { one.number.value = String(tidy(one.value)); one.range.value = String(one.value); }
    this.said.textContent = "";
    this.drawOver();
  }

  async tryIt() {
    const empty = Object.values(this.sliders).find((one) => one.number.value === "");
    if (empty) { this.said.textContent = `${empty.words}: it is empty; expected a number. Write one, or move the slider.`; return; }
    const tried = this.asked;
    await orSay(this.said, async () => {
      const job = await post(this.bench.path("/bar"), { mark: this.bench.picture.mark, ...tried });
      const end = await watch(job, { onTold: (told) => this.going.show(told), still: () => this.here });
      if (!this.here) return;
      if (end.state === "done") this.show(end.result, tried);
      else this.said.textContent = end.said;
    });
  }

  show(result, tried) {
    this.compared = result;
    this.tried = tried;
    this.stale = el("p", { id: "bar-stale", class: "warn", hidden: true }, STALE);
    const { without_bar: bare, rows: [before, after] } = result;
    const names = before.modes.map((tone, k) => called({ mode: tone.mode, order: k + 1 }));
    const picks = names.map((name, k) => button(name, () => { this.shown = k; this.pressed(picks); this.drawOver(); }, { "aria-pressed": "false" }));
    const wanted = (tone) => (tone.mode && this.bench.picture.wanted_hz[tone.mode]?.toFixed(1)) || "";
    const match = (row, tone, k) => (tone.mode ? row.modes.find((one) => one.mode === tone.mode) : row.modes[k]);
    const cell = (row, tone, k) => { const one = match(row, tone, k); return one ? [el("span", {}, `${one.clear ? "" : "~"}${one.hz.toFixed(1)}`), ...sure(one)] : [""]; };
    const sure = (tone) => (tone.low_hz === undefined ? [] : [el("br"), el("span", { class: "quiet nowrap sure" }, interval(tone))]);
    const change = (tone, k) => { const one = match(after, tone, k); return one ? signed(one.hz - tone.hz, 1) : ""; };
    const head = (words) => el("th", { scope: "col" }, words);
    const line = (name, pick, ...cells) => el("tr", {}, el("th", { scope: "row" }, pick ?? name), ...cells.map((words) => el("td", {}, ...[words].flat())));
    const fitted = before.modes.some((tone) => tone.low_hz !== undefined);
    this.result.replaceChildren(
      this.stale,
      el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Tones with either bar" }, el("table", { id: "bars" },
        el("caption", { class: "quiet" }, "Hz, computed in full. Choose a tone to see its lines: dashed with the bar as it is, blue with the other."),
        el("thead", {}, el("tr", {}, head("Tone"), head("Without"), head("As it is"), head("The other"), head("Change"), head("Wanted"))),
        el("tbody", {},
          ...before.modes.map((tone, k) => line(names[k], picks[k], cell(bare, tone, k), cell(before, tone, k), cell(after, tone, k), change(tone, k), wanted(tone))),
          line("mass, g", null, bare.mass_g.toFixed(1), before.mass_g.toFixed(1), after.mass_g.toFixed(1), signed(after.mass_g - before.mass_g, 1), "")))),
      el("p", { class: "quiet" }, `~ the shape has mixed with a neighbour's. Tones without a number are matched by pitch.${fitted ? ` Small: ${SURE}` : ""}`),
      this.useOf(result, tried),
    );
    this.pressed(picks);
    this.drawOver();
  }

  /** The bar that was tried as lines of plate.toml, written there once the maker has looked at them and says so. */
  useOf(result, tried) {
    const said = el("p", { id: "use-said", role: "status" });
    const question = el("div", { id: "use-question", hidden: true });
    this.useStale = el("p", { class: "warn", hidden: true }, "These lines are not of the bar in the fields: try that one first, or go back.");
    const use = this.use = button("Use this bar", () => { question.hidden = false; use.hidden = true; sure.focus(); }, { id: "use-bar" });
    const leave = () => { question.hidden = true; use.hidden = false; use.focus(); };
    const sure = this.sure = button("Write them", () => this.write(tried, said), { class: "main", id: "write-bar" });
    question.append(el("p", {}, "The lines above go into plate.toml in place of those of the bar as it is; its wood and all comments stay. Write them once the bar is made, for everything is then computed with it."),
      el("div", { class: "buttons" }, sure, button("Leave it as it is", leave, { id: "leave-bar" })));
    return el("div", {}, el("h3", {}, "The other bar, as plate.toml describes it"), el("pre", { id: "bar-lines" }, result.in_toml), this.useStale,
      el("div", { class: "buttons" }, use), question, said);
  }

  async write(tried, said) {
    said.textContent = "";
    said.classList.remove("warn");
    try {
      await post(this.bench.path("/bar/use"), { mark: this.bench.picture.mark, ...tried });
      await this.bench.readAgain("The bar is written into plate.toml.");
    } catch (refusal) {
      if (refusal.status === undefined) throw refusal;
      said.textContent = refusal.message;
      said.classList.add("warn");
    }
  }

  pressed(picks) {
    picks.forEach((pick, k) => {
      pick.setAttribute("aria-pressed", String(k === this.shown));
      pick.closest("tr")?.classList.toggle("chosen", k === this.shown);
    });
  }

  /** Say when the table, the node lines and the lines of plate.toml are not of the bar that stands in the fields. */
  sayWhose() {
    const stale = JSON.stringify(this.tried) !== JSON.stringify(this.asked);
    this.stale.hidden = !stale;
    this.useStale.hidden = !stale;
    for (const one of [this.use, this.sure]) one.disabled = stale;
  }

  drawOver() {
    if (this.compared) this.sayWhose();
    const { from_mm: from, to_mm: to, width_mm: width } = this.asked;
    const run = [to[0] - from[0], to[1] - from[1]], size = Math.hypot(...run) || 1;
    const side = [-run[1] / size * width / 2, run[0] / size * width / 2];
    const strip = [[from, -1], [to, -1], [to, 1], [from, 1]].map(([end, way]) => [end[0] + way * side[0], end[1] + way * side[1]]);
    this.bench.plan.over("bar", (context, plan) => {
      if (this.compared) {
        const tone = this.compared.rows[0].modes[this.shown], after = this.compared.rows[1].modes;
        const other = tone.mode ? after.findIndex((one) => one.mode === tone.mode) : this.shown;
        drawLines(context, plan, this.compared.lines_mm[0][this.shown], { colour: BEFORE, dash: [7, 5] });
        if (other >= 0) drawLines(context, plan, this.compared.lines_mm[1][other], { colour: AFTER });
      }
      context.fillStyle = "rgba(18,63,110,.35)";
      context.strokeStyle = AFTER;
      context.lineWidth = 1.6;
      const path = plan.path([strip]);
      context.fill(path);
      context.stroke(path);
    });
  }
}

function tidy(value) {
  return Math.round(value * 100) / 100;
}
