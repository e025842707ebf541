// Describe: what the folder says of the plate, in a form that is checked as one types and written only when asked to.

import { get, post } from "../api.js";
import { button, el } from "../elements.js";

export const NAME = "describe";
export const TITLE = "Describe";

const PAUSE_MS = 350;
const LOOKING = "Looking at it \u2026";
const SHELF = "platewright-draft:";

addEventListener("beforeunload", (event) => { // a reload finds it again, a closed window does not
  if (Object.keys(sessionStorage).some((name) => name.startsWith(SHELF))) event.preventDefault();
});

export function enter(page, bench) {
  return new Describe(page, bench);
}

class Describe {
  constructor(page, bench) {
    this.page = page;
    this.bench = bench;
    this.here = true;
    this.turn = 0;
    this.begin();
  }

  leave() {
    this.here = false;
    clearTimeout(this.timer);
    this.height?.disconnect();
    if (this.drafted) this.bench.plan.show(this.bench.picture);
  }

  async begin() {
    const heading = el("h2", {}, "Describe");
    this.page.replaceChildren(heading);
    let form;
    try {
      form = await get(this.bench.path("/description"));
    } catch (refusal) {
      this.page.append(el("p", { class: "warn" }, refusal.message));
      return;
    }
    if (!this.here) return;
    this.form = form;
    this.inputs = new Map();
    this.verdict = el("p", { id: "verdict", role: "status" });
    this.toLine = button("Which line?", () => this.showLine(), { id: "to-line", hidden: true });
    this.words = el("dl", { id: "understood" });
    this.wordsOld = el("p", { id: "understood-old", class: "warn", hidden: true }, "Of the last state that could be computed, as is the plate drawn beside; not of what is typed now.");
    this.save = button("Write it into the folder", () => this.write(), { class: "main", id: "write", disabled: true });
    this.thickness = this.table("thickness", "Caliper readings", form.columns.thickness);
    this.arch = this.table("arch", "Heights of the arching", form.columns.arch);
    const takenUp = this.takeUp();
    this.standing = el("div", { id: "standing" },
      el("div", { class: "buttons" }, this.save, button("Back to what the folder says", () => this.revert(), { id: "revert" }), this.toLine),
      this.verdict);
    this.height?.disconnect();
    this.height = new ResizeObserver(() => document.documentElement.style.setProperty("--standing", `${this.standing.offsetHeight}px`));
    this.height.observe(this.standing);
    this.page.replaceChildren(
      heading,
      el("p", { class: "quiet" }, "Nothing is written until you say so. An empty field leaves the line out; the species fills in what is not given."),
      ...takenUp,
      this.standing,
      ...form.groups.filter((group) => this.concerns(group)).map((group) => this.group(group)),
      this.thickness.box, this.arch.box,
      el("h3", {}, "What was understood"), this.wordsOld, this.words,
    );
    this.say(LOOKING, false);
    this.check();
  }

  /** Where the browser keeps what was typed and not written, so that another task, plate or a reload does not lose it. */
  get shelf() {
    return SHELF + this.bench.picture.folder;
  }

  keep() {
    if (this.isChanged) sessionStorage.setItem(this.shelf, JSON.stringify({ mark: this.bench.picture.mark, ...this.draft }));
    else sessionStorage.removeItem(this.shelf);
  }

  /** Put back what was typed before and not written; returns what is to be said of it. */
  takeUp() {
    const kept = JSON.parse(sessionStorage.getItem(this.shelf));
    if (!kept) return [];
    for (const [key, value] of Object.entries(kept.values)) if (this.inputs.has(key)) this.inputs.get(key).input.value = value;
    for (const name of ["thickness", "arch"]) if (kept[name] !== null) this[name].area.value = kept[name];
    const since = kept.mark === this.bench.picture.mark ? "" : " The folder has changed since: look at it before you write.";
    return [el("p", { id: "taken-up", class: since ? "warn" : "quiet" }, `Here is again what you typed and did not write.${since}`)];
  }

  revert() {
    sessionStorage.removeItem(this.shelf);
    this.begin();
  }

  /** Whether a group of lines goes with this plate: rise and uniform thickness only where there are no tables. */
  concerns(group) {
    const keys = group.fields.map((field) => field.key);
    if (keys.includes("arch.rise_mm")) return group.fields.some((field) => field.value !== "");
    if (keys.includes("thickness.uniform_mm")) return group.fields[0].value !== "";
    return true;
  }

  group({ name, fields }) {
    return el("fieldset", { class: "boxed" }, el("legend", {}, name), el("div", { class: "fields" }, ...fields.map((field) => this.line(field))));
  }

  line({ key, label, unit, choices, value }) {
    const id = `field-${key.replaceAll(".", "-")}`;
    const listed = choices.includes(value) || value === "" ? choices : [value, ...choices];
    const input = choices.length
      ? el("select", { id }, ...["", ...listed].map((name) => el("option", { value: name, selected: name === value }, name || "(by its constants)")))
      : el("input", { type: "text", id, size: "7", value, autocomplete: "off", inputmode: key === "title" ? "text" : "decimal" });
    input.addEventListener("input", () => this.later());
    this.inputs.set(key, { input, value });
    return el("label", { class: key === "title" ? "field whole" : "field" }, unit ? `${label}, ${unit}` : label, input);
  }

  table(name, words, columns) {
    const area = el("textarea", { id: `table-${name}`, rows: "7", spellcheck: "false", "aria-describedby": `about-${name}` });
    area.value = this.form[name];
    area.addEventListener("input", () => this.later());
    const box = el("div", {}, el("h3", {}, el("label", { for: `table-${name}` }, words)),
      el("p", { class: "quiet", id: `about-${name}` }, `Paste from a spreadsheet: ${columns.join(", ")}; x up from the tail end, y to the left seen from outside; commas, semicolons or tabs.`),
      area, el("div", { class: "buttons" }, button("Paste what was copied", () => this.paste(area), { id: `paste-${name}`, "aria-label": `Paste what was copied as ${words}` })));
    return { area, box };
  }

  /** Put what was copied in the place of a table, for those who work by the mouse alone. */
  async paste(area) {
    let copied;
    try {
      copied = await navigator.clipboard.readText();
    } catch {
      this.say("The browser does not let this page read what was copied; click into the field and paste it there.", true);
      return;
    }
    area.value = copied;
    this.later();
  }

  get draft() {
    const values = {};
    for (const [key, { input, value }] of this.inputs) if (input.value !== value) values[key] = input.value;
    const changed = (area, name) => (area.value === this.form[name] ? null : area.value);
    return { values, thickness: changed(this.thickness.area, "thickness"), arch: changed(this.arch.area, "arch") };
  }

  get isChanged() {
    const { values, thickness, arch } = this.draft;
    return Object.keys(values).length > 0 || thickness !== null || arch !== null;
  }

  later() {
    clearTimeout(this.timer);
    this.save.disabled = true;
    this.turn += 1; // what is still being looked at is of before
    this.say(LOOKING, false);
    this.keep();
    this.timer = setTimeout(() => this.check(), PAUSE_MS);
  }

  async check() {
    const turn = ++this.turn;
    try {
      const told = await post(this.bench.path("/description/check"), this.draft);
      if (!this.here || turn !== this.turn) return;
      this.say(this.isChanged ? "This can be computed. It is not written yet." : "This is what the folder says.", false);
      this.save.disabled = !this.isChanged;
      this.wordsOld.hidden = true;
      this.words.replaceChildren(...told.words.flatMap(([head, words]) => [el("dt", {}, head), el("dd", {}, words)]),
        ...told.doubts.flatMap((words) => [el("dt", { class: "warn" }, "Look at"), el("dd", {}, words)]));
      this.drafted = this.isChanged || this.drafted;
      if (this.drafted) this.bench.plan.show({ ...this.bench.picture, ...told.picture });
    } catch (refusal) {
      if (refusal.status === undefined) throw refusal;
      if (!this.here || turn !== this.turn) return;
      this.say(refusal.message, true);
      this.wordsOld.hidden = false;
    }
  }

  say(words, wrong) {
    if (this.verdict.textContent !== words) this.verdict.textContent = words; // read out once is enough
    this.verdict.classList.toggle("warn", wrong);
    this.place = wrong ? placeIn(words) : null;
    this.toLine.hidden = this.lineAt(this.place) === null;
  }

  /** Where in a table [area, begin, end] the line is that a refusal tells the place or the number of, or null. */
  lineAt(place) {
    if (!place) return null;
    const { area } = this[place.table];
    let begin = 0, number = isHeading(area.value) ? 0 : 1; // a heading is written above numbers that have none
    for (const line of area.value.split("\n")) {
      if (line.trim()) number += 1;
      const [x, y] = numbersOf(line);
      if (place.line ? number === place.line && line.trim() : near(x, place.x) && near(y, place.y)) return [area, begin, begin + line.length];
      begin += line.length + 1;
    }
    return null;
  }

  /** Mark the line of a table that a refusal is about. */
  showLine() {
    const found = this.lineAt(this.place);
    if (!found) return;
    const [area, begin, end] = found, above = area.value.slice(0, begin).split("\n").length - 1;
    area.scrollIntoView({ block: "center" });
    area.focus({ preventScroll: true });
    area.setSelectionRange(begin, end);
    area.scrollTop = above * parseFloat(getComputedStyle(area).lineHeight) - area.clientHeight / 2;
  }

  async write() {
    try {
      const { written } = await post(this.bench.path("/description"), { mark: this.bench.picture.mark, draft: this.draft });
      sessionStorage.removeItem(this.shelf);
      this.drafted = false;
      await this.bench.readAgain(`Written into the folder: ${written.join(" and ")}.`);
    } catch (refusal) {
      if (refusal.status === undefined) throw refusal;
      this.say(refusal.message, true);
    }
  }
}

const ABOUT_PLACE = /^(thickness|arch)\b.*?x = (-?[\d.]+) mm, y = (-?[\d.]+) mm/;
const ABOUT_LINE = /^(thickness|arch)[^:]*: line (\d+)\b/;

/** The table with the place {x, y} [mm] or the line that a sentence names, or null. */
function placeIn(words) {
  const line = ABOUT_LINE.exec(words), place = ABOUT_PLACE.exec(words);
  if (line) return { table: line[1], line: Number(line[2]) };
  return place && { table: place[1], x: Number(place[2]), y: Number(place[3]) };
}

function isHeading(text) {
  const first = text.split("\n").find((line) => line.trim()) ?? "";
  return numbersOf(first).some(Number.isNaN);
}

/** The numbers of a line of a table as it was pasted: between semicolons and tabs a comma is the decimal one. */
function numbersOf(line) {
  const decimal = /[;\t]/.test(line);
  return line.trim().split(decimal ? /[;\t]/ : /[,\s]+/).map((cell) => Number((decimal ? cell.replace(",", ".") : cell).trim() || NaN));
}

function near(value, told) {
  return Math.abs(value - told) < 0.0501; // places are told to a tenth
}
