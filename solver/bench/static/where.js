// Where to take wood for a tone that is wished for: the plate in the colours of what a shaving does to it, and in words.

import { button, el } from "./elements.js";

/** A wish is met within this [Hz]. */
const MET_HZ = 0.5;
/** Share of the greatest effect from which a place counts as one that raises the tone. */
const COUNTS = 0.15;

export class Where {
  constructor(bench) {
    this.bench = bench;
    this.buttons = new Map();
    this.shown = null;
    this.modes = bench.tones.modes;
    this.words = el("p", { id: "where-said", role: "status" });
  }

  /** Be told which tone was asked for. */
  onPick(listener) {
    this.listener = listener;
  }

  /** The button of the tone at a place of the table. */
  button(k) {
    const made = button("where?", () => this.toggle(k), { "aria-pressed": "false", "aria-label": `where? ${this.bench.tones.called[k]}`, disabled: !this.bench.shavings, title: "Where to take wood for it" });
    this.buttons.set(k, made);
    return made;
  }

  /** What a shaving does is known. */
  ready() {
    for (const made of this.buttons.values()) made.disabled = false;
  }

  toggle(k) {
    const shows = this.bench.plan.kind === "hz" && this.shown === k;
    this.shown = shows ? null : k;
    this.bench.colourBy(shows ? "thickness" : `hz${k}`);
    this.listener(k);
    this.tell(this.modes);
  }

  /** Say it for tones as a trial leaves them. */
  tell(modes) {
    this.modes = modes;
    if (this.bench.plan.kind !== "hz") this.shown = null; // coloured by something else since
    for (const [k, made] of this.buttons) made.setAttribute("aria-pressed", String(k === this.shown));
    const words = this.shown === null ? "" : this.wordsOf(this.shown);
    if (this.words.textContent !== words) this.words.textContent = words;
  }

  wordsOf(k) {
    const { tones, picture, shavings } = this.bench, called = tones.called[k], name = called[0].toUpperCase() + called.slice(1);
    const tone = this.modes.find((one) => one.order === k + 1);
    if (!tone) return `${name} is out of sight on this trial.`;
    const off = tone.hz - picture.wanted_hz[tones.modes[k].mode], known = shavings[k].filter((value) => value !== null);
    const raises = Math.max(...known) > COUNTS * Math.max(...known.map(Math.abs));
    if (Math.abs(off) < MET_HZ) return `${name} is where you want it, within ${MET_HZ} Hz. Wood from pale places leaves it there.`;
    const stands = `${name} is ${Math.abs(off).toFixed(1)} Hz ${off > 0 ? "above" : "below"} your wish.`;
    if (off > 0) return `${stands} Take wood where the plate is orange: that lowers it, most where it is darkest.`;
    return raises ? `${stands} Take wood where the plate is blue: that raises it.` : `${stands} Wood taken lowers it everywhere; thinning does not raise it.`;
  }
}
