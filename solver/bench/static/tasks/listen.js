// Listen: the tones of taps on the plate, from a file or the microphone, each with its mode, and into the log.

import { bring, orSay, post } from "../api.js";
import { drawing } from "../drawings.js";
import { button, doneNote, el, signed } from "../elements.js";
import { progressLine, watch } from "../jobs.js";
import { record } from "../microphone.js";

export const NAME = "listen";
export const TITLE = "Listen";

const LONGEST_S = 300, LARGEST = 60_000_000, LOUD = 0.99;
const NONE = "", OUT = "out";
const BESIDE = [["mass_g", "Mass, g", 1, 10000], ["temperature_c", "Room, \u00b0C", -40, 60], ["humidity_pct", "Humidity, %", 2, 100]];

/** What was entered just now: it stays in sight when the plate is read again with it, until the task is left. */
let entered = null;

export function enter(page, bench) {
  return new ListenTask(page, bench);
}

class ListenTask {
  constructor(page, bench) {
    this.bench = bench;
    this.here = true;
    this.open = el("input", { type: "file", id: "recording", accept: ".wav,.flac,.ogg,.m4a,.mp3,audio/*", change: () => this.opened() });
    this.press = button("Record by microphone", () => this.pressed(), { id: "record", "aria-pressed": "false" });
    this.level = el("meter", { id: "level", min: "0", max: "1", high: "0.9", value: "0", "aria-label": "How loud it is", hidden: true });
    this.clock = el("span", { id: "clock" });
    this.said = el("p", { role: "alert", class: "warn", id: "listen-said" });
    this.going = progressLine();
    this.result = el("div", { id: "heard" });
    page.append(
      el("h2", {}, "Listen"),
      el("p", { class: "quiet" }, "Hold the plate lightly at a node line, tap it near the microphone, let it ring out, and tap again: four taps or more."),
      el("div", { class: "fields" }, el("label", { class: "field" }, "A recording (WAV, FLAC, M4A, OGG or MP3)", this.open)),
      el("div", { class: "buttons" }, this.press, this.level, this.clock),
      this.going.line, this.said, this.result,
      el("p", { class: "caution" }, "Tap with a fingertip or a soft knuckle. A plate that is held by its edge can slip: work over a cloth."),
    );
    const { plate, heard, modes, written } = entered ?? {};
    entered = null;
    if (plate !== bench.picture.plate) return;
    this.heard = heard;
    this.build(modes);
    this.result.append(doneNote(`Entered as ${written}. `, el("a", { href: "#diary" }, "See it in the Diary"), "."));
  }

  leave() {
    this.here = false;
    this.recorder?.drop();
    this.drawn?.drop();
  }

  async opened() {
    const [one] = this.open.files;
    if (one) await orSay(this.said, () => this.hear(one, one.name));
  }

  async pressed() {
    if (this.starting) return;
    if (this.recorder) return orSay(this.said, () => this.endRecording());
    this.starting = true;
    this.said.textContent = "";
    try {
      const recorder = await record((peak, seconds) => this.loud(peak, seconds));
      if (!this.here) { recorder.drop(); return; }
      this.recorder = recorder;
      this.clipped = false;
      this.show(true);
    } catch (fault) {
      this.said.textContent = fault.name === "NotAllowedError"
        ? "The browser does not let this page use the microphone. Allow it beside the address, then press again."
        : "No microphone can be used here. Plug one in, then press again; or open a recording made elsewhere.";
    } finally {
      this.starting = false;
    }
  }

  show(recording) {
    this.press.textContent = recording ? "Stop and listen" : "Record by microphone";
    this.press.setAttribute("aria-pressed", String(recording));
    this.level.hidden = !recording;
    if (!recording) this.clock.textContent = "";
  }

  loud(peak, seconds) {
    if (!this.recorder) return;
    this.level.value = peak;
    this.clipped ||= peak >= LOUD;
    this.clock.textContent = `${Math.floor(seconds)} s${this.clipped ? ", too loud: move the microphone away" : ""}`;
    if (seconds > LONGEST_S) orSay(this.said, () => this.endRecording());
  }

  async endRecording() {
    const { recorder } = this;
    this.recorder = null;
    this.show(false);
    const now = new Date(), two = (value) => String(value).padStart(2, "0");
    const name = `taps-${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}-${two(now.getHours())}${two(now.getMinutes())}${two(now.getSeconds())}.wav`;
    await this.hear(await recorder.end(), name);
  }

  async hear(content, name) {
    this.result.replaceChildren();
    this.heard = null;
    if (content.size > LARGEST) {
      this.said.textContent = `${name}: it has ${(content.size / 1e6).toFixed(0)} MB; expected at most ${LARGEST / 1e6}. Cut out the part with the taps.`;
      return;
    }
    const brought = await bring(this.bench.path("/brought"), content, name);
    const job = await post(this.bench.path("/listen"), { mark: this.bench.picture.mark, brought });
    const end = await watch(job, { onTold: (told) => this.going.show(told), still: () => this.here });
    if (!this.here) return;
    if (end.state !== "done") { this.said.textContent = end.said; return; }
    this.heard = { ...end.result, brought, name };
    this.build();
  }

  /** Show what was heard: with the modes to be chosen and a way into the log or, if they are entered already, with the modes that they were entered `as`. */
  build(as = null) {
    this.drawn?.drop();
    const { tones, called, modes, taps, warnings, silent_words: silent, name } = this.heard;
    this.drawn = drawing(this.heard, `Spectrum of the taps with ${tones.length} tones marked; the table above has their figures.`);
    this.choices = tones.map((tone, k) => (as ? chosen(as[k]) : this.choice(tone, modes)));
    const head = (words) => el("th", { scope: "col" }, words);
    const row = (tone, k) => el("tr", {},
      el("th", { scope: "row" }, tone.hz.toFixed(2)),
      el("td", {}, Math.max(tone.sd_hz, 0.01).toFixed(2)), el("td", {}, tone.q.toFixed(0)), el("td", {}, signed(tone.level_db, 0)),
      el("td", {}, this.choices[k]), el("td", { class: "nowrap" }, predicted(tone, called[k])));
    this.result.replaceChildren(
      el("h3", {}, `${name}: ${taps > 1 ? `${taps} taps` : "one tap"}`),
      ...warnings.map((words) => el("p", { class: "warn" }, words)),
      el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "The tones that were heard" }, el("table", { id: "heard-tones" },
        el("caption", { class: "quiet" }, `\u00b1 Hz: one standard error of the tone. Q: how long it rings. dB: under the strongest. In brackets: which computed tone it most likely is, and how likely that is, in per cent.${as ? "" : " Where a tone is another mode's, choose that one."}`),
        el("thead", {}, el("tr", {}, ...["Hz", "\u00b1 Hz", "Q", "dB", "Mode", "Predicted, Hz"].map(head))),
        el("tbody", {}, ...tones.map(row)))),
      ...silent.map((words) => el("p", { class: "quiet" }, words)),
      this.drawn.shown,
      ...(as ? [] : this.intoLog()),
    );
  }

  intoLog() {
    this.beside = BESIDE.map(([key, words, min, max]) => ({ key, words, field: el("input", { type: "number", id: key, min: String(min), max: String(max), step: "any" }) }));
    return [
      el("h3", {}, "Into the log"),
      el("p", { class: "quiet" }, "The tones as chosen above, the recording, and what you weigh and read now, if you do."),
      el("div", { class: "fields" }, ...this.beside.map(({ words, field }) => el("label", { class: "field" }, words, field))),
      el("div", { class: "buttons" }, button("Enter into the log", () => orSay(this.said, () => this.log()), { class: "main", id: "enter-log" })),
    ];
  }

  /** Which mode a tone is: the surely known number, another's, none, or not the plate's. */
  choice(tone, modes) {
    const list = el("select", { "aria-label": `Mode of ${tone.hz.toFixed(1)} Hz` },
      el("option", { value: NONE }, "no number"),
      ...modes.map(({ mode, hz }) => el("option", { value: mode }, `mode ${mode} (predicted ${hz.toFixed(0)} Hz)`)),
      el("option", { value: OUT }, "not the plate's: leave out"));
    list.value = tone.mode ?? NONE;
    return list;
  }

  /** Enter the tones as chosen; where something else sounded besides, only once the maker is `sure` of them. */
  async log(sure = false) {
    const beside = Object.fromEntries(this.beside.filter(({ field }) => field.value !== "").map(({ key, field }) => [key, Number(field.value)]));
    const wrong = this.beside.find(({ field }) => !field.validity.valid);
    if (wrong) { this.said.textContent = `${wrong.words}: expected ${wrong.field.min} to ${wrong.field.max}. Nothing was entered.`; wrong.field.focus(); return; }
    const modes = this.choices.map((list) => list.value || null);
    if (this.heard.doubtful && !sure && modes.some((mode) => mode !== OUT)) {
      const yes = button("Enter these tones", () => orSay(this.said, () => this.log(true)), { id: "as-chosen" });
      this.said.replaceChildren("Something else sounded besides, so some of these tones may not be the plate's. Nothing is entered yet: record again, leave out what is not the plate's, or ", yes);
      yes.focus();
      return;
    }
    const { written } = await post(this.bench.path("/listen/log"), { mark: this.bench.picture.mark, brought: this.heard.brought, modes, ...beside });
    entered = { plate: this.bench.picture.plate, heard: this.heard, modes, written };
    await this.bench.readAgain();
  }
}

/** What a tone was entered as. */
function chosen(mode) {
  return mode === OUT ? "left out" : mode ? `mode ${mode}` : "no number";
}

/** What was computed for the mode that a tone probably is, and how likely where another may be meant or it has no number. */
function predicted(tone, called) {
  if (!tone.predicted_hz) return "none computed";
  return `${tone.predicted_hz.toFixed(1)}${tone.mode ? "" : ` (${called}, ${Math.round(100 * tone.probability)} %)`}`;
}
