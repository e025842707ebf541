// Modes: the node lines of a tone on the plate, where to hold and tap it, its shape moving, its pitch to hear.

import { get, orSay } from "../api.js";
import { SEEN } from "../colours.js";
import { called, el } from "../elements.js";
import { drawLines, drawMark } from "../plan_marks.js";
import { shapeView } from "../shape.js";
import { pitchPlayer } from "../pitch.js";
import { tonesTable } from "../tones.js";

export const NAME = "modes";
export const TITLE = "Modes";

export function enter(page, bench) {
  return new ModesTask(page, bench);
}

class ModesTask {
  constructor(page, bench) {
    this.page = page;
    this.bench = bench;
    page.append(el("h2", {}, "Modes"), el("p", { class: "quiet" }, "The tones are being computed."));
  }

  arrived(part) {
    if (part === "modes") this.build();
  }

  leave() {
    this.shape?.leave();
    this.player?.silence();
    this.bench.plan.over("modes", null);
  }

  build() {
    const { bench } = this;
    this.shape?.leave();
    this.table = tonesTable(bench, (k) => this.choose(k), { changes: false });
    this.words = el("p", { id: "hold-and-tap" });
    this.seen = new SeenLines(bench, (k) => this.show(k ?? bench.chosen));
    this.shape = shapeView(bench);
    this.player = pitchPlayer();
    this.page.replaceChildren(el("h2", {}, "Modes"),
      el("p", { class: "quiet", id: "as-it-stands" }, "The plate as it stands; what is tried in Thin is not in it."),
      el("div", { class: "with-shape" },
        el("div", {}, this.table.table, this.words, this.seen.box, this.player.box),
        this.shape.box),
      el("p", { class: "quiet" }, `${bench.tones.mass_g.toFixed(1)} g by computation. A tone is named where its shape is clear; the others are counted by pitch.`));
    this.choose(Math.min(bench.chosen, bench.tones.modes.length - 1));
  }

  show(k) {
    this.table.choose(k);
    this.choose(k);
  }

  choose(k) {
    const { tones, plan } = this.bench, tone = tones.modes[k];
    this.bench.chosen = k;
    this.shape.choose(k);
    this.player.choose(tone);
    this.seen.say(k);
    const at = (place) => placeWords(this.bench.picture, place);
    this.words.textContent = tone.hold_mm.length
      ? `Hold it lightly ${tone.hold_mm.map(at).join(", or ")} (rings); tap it ${at(tone.tap_mm)} (cross).`
      : `Tap it ${at(tone.tap_mm)} (cross).`;
    plan.over("modes", (context) => {
      this.seen.draw(context);
      drawLines(context, plan, tones.lines_mm[k]);
      tone.hold_mm.forEach((place) => drawMark(context, plan, place, "hold", "ring"));
      drawMark(context, plan, tone.tap_mm, "tap", "cross");
    });
  }
}

/** The lines of a kept photo, chosen to be drawn under the computed ones; out of sight while none is kept. */
class SeenLines {
  constructor(bench, choose) {
    this.bench = bench;
    this.field = el("select", { id: "seen-lines", change: () => choose(this.chosen?.likest) });
    this.words = el("p", { id: "seen-gap", role: "status" });
    this.box = el("div", { hidden: true }, el("label", { class: "field" }, "Powder lines kept with this plate", this.field), this.words);
    orSay(this.words, async () => {
      this.kept = (await get(bench.path("/modes/seen"))).kept;
      this.box.hidden = this.kept.length === 0;
      this.field.replaceChildren(el("option", { value: "" }, "none shown"), ...this.kept.map(({ name }) => el("option", { value: name }, name)));
    });
  }

  get chosen() {
    return this.kept?.find(({ name }) => name === this.field.value);
  }

  say(k) {
    this.words.textContent = this.chosen ? gapWords(this.chosen, this.bench.tones.modes, k) : "";
  }

  draw(context) {
    drawLines(context, this.bench.plan, this.chosen?.lines_mm ?? [], { colour: SEEN, width: 5 });
  }
}

/** How far seen lines lie from those of the tone at place k, and which tone they are likest if that is another. */
function gapWords({ refused, gaps, likest }, modes, k) {
  if (refused) return refused;
  const { half_mm: half, most_mm: most } = gaps[k] ?? {};
  const far = half === undefined || half === null
    ? `There is nothing to compare for ${called(modes[k])}.`
    : `Blue: what the powder showed. Half of it lies within ${half.toFixed(1)} mm of the lines computed now for ${called(modes[k])}, nine tenths within ${most.toFixed(1)} mm.`;
  if (likest === k) return far;
  return `${far} ${likest === null ? "It is like none of these tones." : `It is likest ${called(modes[likest])}.`}`;
}

/** A place [mm] by the plate's own sides, from whichever side it is seen: "335 mm up, 56 mm to the treble side". */
function placeWords({ sides: [left, right] }, [x, y]) {
  const aside = Math.abs(y) < 0.5 ? "in the middle" : `${Math.abs(y).toFixed(0)} mm to the ${y > 0 ? left : right}`;
  return `${x.toFixed(0)} mm up, ${aside}`;
}
