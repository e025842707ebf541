// Diary: the log as a table and over time, a form for a new entry or a correction; the pair; the book of all plates.

import { bring, get, post, Refusal } from "../api.js";
import { Book } from "../book.js";
import { drawing } from "../drawings.js";
import { button, el, signed } from "../elements.js";
import { progressLine, watch } from "../jobs.js";
import { Pair } from "../pair.js";

export const NAME = "diary";
export const TITLE = "Diary";

const FIELDS = [
  ["mass", "Mass, g", "8"], ["temperature", "Room, \u00b0C", "5"], ["humidity", "Humidity, %", "5"],
];
/** Files that go with an entry, and what the browser offers first. */
const FILES = [["photo", "Photo", "image/*"], ["recording", "Recording", ".wav,.flac,.ogg,.m4a,.mp3,audio/*"], ["thickness", "Thickness then, if plate.toml has another", ".csv"]];
const LARGEST = 60_000_000;
/** What the last page says once the plate was read again after an entry. */
let entered = null;

export function enter(page, bench) {
  return new Diary(page, bench);
}

/** The three parts, of which one is shown. */
class Diary {
  constructor(page, bench) {
    this.bench = bench;
    this.part = el("div", {});
    const choice = ([name, words, kind]) => el("label", {},
      el("input", { type: "radio", name: "diary-part", value: name, checked: kind === Log, change: () => this.show(kind) }), el("span", {}, words));
    page.replaceChildren(el("h2", {}, "Diary"),
      el("fieldset", { class: "switch", id: "diary-part" }, el("legend", { class: "hidden" }, "What is shown"),
        ...[["log", "This plate", Log], ["pair", "Top and back", Pair], ["book", "All plates", Book]].map(choice)),
      this.part);
    this.show(Log);
  }

  show(kind) {
    this.shown?.leave();
    this.part.replaceChildren();
    this.shown = new kind(this.part, this.bench);
  }

  leave() {
    this.shown.leave();
  }
}

class Log {
  constructor(page, bench) {
    this.page = page;
    this.bench = bench;
    this.here = true;
    this.corrects = null;
    this.begin();
  }

  leave() {
    this.here = false;
    this.drawn?.drop();
  }

  async begin() {
    try {
      this.form = await get(this.bench.path("/log"));
    } catch (refusal) {
      this.page.append(el("p", { class: "warn" }, refusal.message));
      return;
    }
    if (!this.here) return;
    this.said = el("p", { id: "diary-said", role: "status" }, entered ?? "");
    entered = null;
    this.log = el("div", { id: "diary-log" });
    this.chart = el("div", { id: "diary-chart" });
    this.going = progressLine();
    this.page.replaceChildren(this.said, this.entryForm(), el("h3", {}, "The log"), this.going.line, this.log, this.chart);
    await this.tell();
  }

  // -- the form -------------------------------------------------------------------------------------------------------

  entryForm() {
    this.inputs = {};
    this.modes = {};
    const { last } = this.form;
    const was = (key) => (last[key] ? `last ${last[key]}` : null);
    const figures = FIELDS.map(([name, words, size]) => this.field(name, words, { size, inputmode: "decimal", placeholder: name === "mass" ? was("mass_g") : null }));
    this.modeFields = el("div", { class: "fields", role: "group", "aria-label": "Tones by mode" });
    this.askModes(this.form.modes);
    const stages = el("datalist", { id: "stages" }, ...this.form.stages.map((stage) => el("option", { value: stage })));
    this.note = el("textarea", { id: "entry-note", rows: "2" });
    this.question = el("div", { id: "entry-doubts", role: "alert" });
    this.files = {};
    this.brought = new Map();
    this.without = {};
    this.leaveOut = el("div", { class: "fields" });
    this.legend = el("legend", {}, "A new entry");
    this.whole = el("form", { id: "entry", submit: (event) => { event.preventDefault(); this.send(false); } },
      el("fieldset", { class: "boxed" }, this.legend,
        el("div", { class: "fields" }, ...figures),
        this.modeFields,
        el("div", { class: "fields" }, this.field("tones", "Tones of no known mode, Hz, with blanks between", { size: "14" })),
        el("div", { class: "fields" }, this.field("stage", "Stage", { size: "20", list: "stages", placeholder: was("stage") }), stages,
          this.field("parts", "Not there yet", { size: "12", placeholder: "holes, bar" }), this.field("taken", "Taken", { size: "26", placeholder: "now, or 2026-03-14T19:05" })),
        el("label", { for: "entry-note" }, "Note"), this.note,
        el("div", { class: "fields" }, ...FILES.map(([kind, words, accept]) => this.fileField(kind, words, accept))),
        this.leaveOut,
        el("div", { class: "buttons" }, el("button", { type: "submit", class: "main", id: "enter" }, "Enter it"),
          button("Empty the form", () => this.empty(), { id: "empty-form" }))),
      this.question);
    return this.whole;
  }

  field(name, words, attributes) {
    const input = el("input", { type: "text", id: `entry-${name}`, autocomplete: "off", ...attributes });
    this.inputs[name] = input;
    return el("label", { class: "field" }, words, input);
  }

  fileField(kind, words, accept) {
    this.files[kind] = el("input", { type: "file", id: `entry-${kind}`, accept });
    return el("label", { class: "field" }, words, this.files[kind]);
  }

  /** Bring the files that go with the entry, each once; returns their keys. */
  async bringFiles() {
    const keys = {};
    for (const [kind, input] of Object.entries(this.files)) {
      const [one] = input.files;
      if (!one) continue;
      if (one.size > LARGEST) throw new Refusal(`${one.name}: it has ${Math.round(one.size / 1e6)} MB; expected at most ${LARGEST / 1e6}. Cut it to what shows the plate.`, 400);
      if (!this.brought.has(one)) {
        this.say(`Taking in ${one.name} ...`, false);
        this.brought.set(one, await bring(this.bench.path("/brought"), one, one.name));
      }
      keys[kind] = this.brought.get(one);
    }
    return keys;
  }

  /** A field for each of the modes, and one by which another mode is asked for. */
  askModes(names) {
    const typed = Object.fromEntries(Object.entries(this.modes).map(([name, input]) => [name, input.value]));
    this.modes = {};
    const fields = names.map((name) => {
      const last = this.form.last[`mode ${name}`];
      const input = el("input", { type: "text", id: `entry-mode-${name}`, size: "9", inputmode: "decimal", autocomplete: "off", placeholder: last ? `last ${last}` : null });
      input.value = typed[name] ?? "";
      this.modes[name] = input;
      return el("label", { class: "field" }, `Mode ${name}, Hz`, input);
    });
    const more = button("Another mode", () => {
      const name = String(Math.max(0, ...names.map(Number)) + 1);
      this.askModes([...names, name]);
      this.modes[name].focus();
    }, { id: "another-mode" });
    this.modeFields.replaceChildren(...fields, more);
  }

  empty() {
    this.corrects = null;
    this.legend.textContent = "A new entry";
    for (const input of [...Object.values(this.inputs), ...Object.values(this.modes), ...Object.values(this.files), this.note]) input.value = "";
    this.without = {};
    this.leaveOut.replaceChildren();
    this.question.replaceChildren();
    this.said.textContent = "";
  }

  correct(stamp) {
    const old = this.form.entries.find((entry) => entry.entry === stamp);
    this.empty();
    this.corrects = stamp;
    this.legend.textContent = `A correction of ${stamp}`;
    this.askModes([...new Set([...this.form.modes, ...Object.keys(old.modes)])].sort((a, b) => a - b));
    for (const [name, hz] of Object.entries(old.modes)) this.modes[name].value = hz;
    for (const [name, input] of Object.entries(this.inputs)) input.value = old[name];
    this.note.value = old.note;
    for (const [kind] of FILES.filter(([one]) => old[one])) {
      this.without[kind] = el("input", { type: "checkbox", id: `without-${kind}` });
      this.leaveOut.append(el("label", { class: "field" }, this.without[kind], `without ${old[kind]}`));
    }
    this.said.textContent = "The old entry stays in the folder; this one stands in its place. Empty what was never measured.";
    this.inputs.mass.focus();
  }

  async send(asTyped) {
    const text = Object.fromEntries(Object.entries(this.inputs).map(([name, input]) => [name, input.value]));
    const modes = Object.fromEntries(Object.entries(this.modes).map(([name, input]) => [name, input.value]));
    this.question.replaceChildren();
    this.say("", false);
    try {
      const files = await this.bringFiles();
      const without = Object.entries(this.without).filter(([kind, tick]) => tick.checked && !files[kind]).map(([kind]) => kind);
      const told = await post(this.bench.path("/log"), { mark: this.bench.picture.mark, ...text, modes, note: this.note.value, corrects: this.corrects, as_typed: asTyped, ...files, without });
      this.say("", false);
      if (told.entered === null) { this.askAbout(told.doubts); return; }
      entered = `Entered as log/${told.entered}.toml.`;
      await this.bench.readAgain();
    } catch (refusal) {
      if (refusal.status === undefined) throw refusal;
      this.say(refusal.message, true);
    }
  }

  askAbout(doubts) {
    const sure = button("Enter it as typed", () => this.send(true), { id: "as-typed" });
    this.question.replaceChildren(...doubts.map((words) => el("p", { class: "warn" }, words)),
      el("p", {}, "Nothing is entered yet: mend it above, or"), el("div", { class: "buttons" }, sure));
    sure.focus();
  }

  say(words, wrong) {
    this.said.textContent = words;
    this.said.classList.toggle("warn", wrong);
  }

  // -- the log --------------------------------------------------------------------------------------------------------

  async tell() {
    try {
      const job = await post(this.bench.path("/log/history"), { mark: this.bench.picture.mark });
      const end = await watch(job, { onTold: (told) => this.going.show(told), still: () => this.here });
      if (!this.here) return;
      if (end.state === "done") this.show(end.result);
      else this.log.replaceChildren(el("p", { class: "warn" }, end.said), button("Bring them again", () => this.tell()));
    } catch (refusal) {
      if (refusal.status === undefined) throw refusal;
      if (this.here) this.log.replaceChildren(el("p", { class: "warn" }, refusal.message));
    }
  }

  show(history) {
    if (!history.entries.length) {
      this.log.replaceChildren(el("p", {}, "The log is empty. Enter above what you weigh and hear."));
      return;
    }
    const room = history.reference;
    const wanted = history.entries.some((entry) => entry.modes.some((reading) => reading.wanted_hz));
    const heads = ["Taken", "Mass, g", "Change", "Mode", "Hz", "Since last", ...(room ? [`At ${room.temperature_c} \u00b0C, ${room.humidity_pct} %`] : []), ...(wanted ? ["Cents off wanted"] : [])];
    this.log.replaceChildren(
      el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "The log" },
        el("table", { id: "entries" }, el("thead", {}, el("tr", {}, ...heads.map((words) => el("th", { scope: "col" }, words)))),
          ...history.entries.map((entry) => this.happening(entry, room, wanted)))),
      ...history.remarks.map((words) => el("p", { class: "quiet" }, words)));
    if (history.picture) this.draw(history);
  }

  happening(entry, room, wanted) {
    const stamp = entry.entry.replace(/\.toml$/, "");
    const readings = [...entry.modes, ...entry.tones.map((tone) => ({ mode: "-", ...tone }))];
    const first = el("th", { scope: "rowgroup", rowspan: String(Math.max(1, readings.length)), class: "told" },
      el("span", { class: "nowrap" }, `${entry.taken.slice(0, 10)} ${entry.taken.slice(11, 16)}`),
      ...told(entry).map((words) => el("span", {}, words)),
      button("Correct", () => this.correct(stamp), { "aria-label": `Correct the entry of ${stamp}` }));
    const cells = (reading, k) => [
      ...(k === 0 ? [figure(entry.mass_g), change(entry.mass_change_g)] : ["", ""]),
      ...(reading ? [reading.mode, figure(reading.hz), change(reading.change_hz), ...(room ? [band(reading.low_hz, reading.high_hz, (hz) => hz.toFixed(1))] : []), ...(wanted ? [band(reading.low_cents, reading.high_cents, (cents) => signed(cents, 0))] : [])] : ["", "", "", ...(room ? [""] : []), ...(wanted ? [""] : [])]),
    ].map((words) => el("td", {}, words));
    return el("tbody", { "data-entry": stamp }, ...(readings.length ? readings : [null]).map((reading, k) => el("tr", {}, k === 0 ? first : null, ...cells(reading, k))));
  }

  draw(history) {
    this.drawn?.drop();
    this.drawn = drawing(history, `The log over time: its ${history.entries.length} entries with tones and mass, as in the table above`);
    this.chart.replaceChildren(el("h3", {}, "Over time"), this.drawn.shown);
  }
}

function told(entry) {
  const room = [[entry.temperature_c, "\u00b0C"], [entry.humidity_pct, "%"]].filter(([value]) => value !== null).map(([value, unit]) => `${value} ${unit}`).join(", ");
  return [room, entry.stage, entry.note, entry.photo, entry.recording, entry.corrects && "a correction"].filter(Boolean);
}

function figure(value) {
  return value === null ? "" : value.toFixed(1);
}

function change(value) {
  return value === null ? "" : signed(value, 1);
}

function band(low, high, words) {
  if (low === null) return "";
  const ends = [words(low), words(high)];
  return ends[0] === ends[1] ? ends[0] : `${ends[0]} to ${ends[1]}`;
}
