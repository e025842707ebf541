// Modes: the node lines of a tone on the plate, where to hold and tap it, its shape moving, its pitch to hear.

import { el } from "../elements.js";
import { drawLines, drawMark } from "../plan.js";
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
    this.shape = shapeView(bench);
    this.player = pitchPlayer();
    this.page.replaceChildren(el("h2", {}, "Modes"),
      el("p", { class: "quiet", id: "as-it-stands" }, "The plate as it stands; what is tried in Thin is not in it."), this.table.table, this.words, this.player.box, this.shape.box,
      el("p", { class: "quiet" }, `${bench.tones.mass_g.toFixed(1)} g by computation. A tone is named where its shape is clear; the others are counted by pitch.`));
    this.choose(Math.min(bench.chosen, bench.tones.modes.length - 1));
  }

  choose(k) {
    const { tones, plan } = this.bench, tone = tones.modes[k];
    this.bench.chosen = k;
    this.shape.choose(k);
    this.player.choose(tone);
    const at = (place) => placeWords(this.bench.picture, place);
    this.words.textContent = tone.hold_mm.length
      ? `Hold it lightly ${tone.hold_mm.map(at).join(", or ")} (rings); tap it ${at(tone.tap_mm)} (cross).`
      : `Tap it ${at(tone.tap_mm)} (cross).`;
    plan.over("modes", (context) => {
      drawLines(context, plan, tones.lines_mm[k]);
      tone.hold_mm.forEach((place) => drawMark(context, plan, place, "hold", "ring"));
      drawMark(context, plan, tone.tap_mm, "tap", "cross");
    });
  }
}

/** A place [mm] by the plate's own sides, from whichever side it is seen: "335 mm up, 56 mm to the treble side". */
function placeWords({ sides: [left, right] }, [x, y]) {
  const aside = Math.abs(y) < 0.5 ? "in the middle" : `${Math.abs(y).toFixed(0)} mm to the ${y > 0 ? left : right}`;
  return `${x.toFixed(0)} mm up, ${aside}`;
}
