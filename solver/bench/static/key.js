// The key of the map's colours beside the plate: what is more stands above.

import { svg } from "./elements.js";
import { levelWords } from "./scales.js";

const BAND = 15, SWATCH = 15, TOP = 18, FOOT = 6;

/** Show in an svg element what the colours of a map stand for. */
export function showKey(place, { levels, table, digits }, unit) {
  const down = (k) => TOP + (table.length - k) * BAND;
  const text = (words, y) => { const made = svg("text", { x: SWATCH + 5, y }); made.append(words); return made; };
  place.replaceChildren(
    text(unit, TOP - 7),
    ...table.map((colour, k) => svg("rect", { x: 0.5, y: down(k + 1), width: SWATCH, height: BAND, fill: `rgb(${colour.join(",")})` })),
    svg("rect", { class: "rim", x: 0.5, y: TOP, width: SWATCH, height: table.length * BAND }),
    ...levels.slice(1, -1).map((level, k) => text(levelWords(level, digits), down(k + 1) + 4)),
  );
  place.setAttribute("height", String(TOP + table.length * BAND + FOOT));
  place.setAttribute("aria-label", `Colours in ${unit}, from ${levelWords(levels[0], digits)} to ${levelWords(levels[levels.length - 1], digits)}`);
}
