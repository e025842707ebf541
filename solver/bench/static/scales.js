// What the colours of a map stand for: bands between levels, fixed for a plate, whatever is tried on it.

import { levels, scale } from "./colours.js";

/** Depths [mm] at which the colour of what was taken changes: fine where a scraper begins, coarse where a gouge has been. */
const TAKEN = [0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.6, 1, 2, 4];
/** A cut as deep as a level, within this share, lies over it all along its ridge and not here and there. */
const JUST = 0.04;
const MOST_TAKEN = 0.6, THICKNESS_BANDS = 14, CHANGE_BANDS = 9;
/** Share of the colours for what cuts may leave; the others tell the plate apart as it stands. */
const FOR_CUTS = 0.3;
/** A plate whose thickness differs by less [mm] is even: no line is drawn where its readings happen to cross a level. */
const EVEN = 0.05, NEAR = 0.02;

/** Bands of thickness [mm]: from what a plan's usual deepest cut leaves of the thinnest place to the thickest. */
export function thicknessBands({ colours, deepest_mm: deepest }, thickness) {
  const [low, high] = spread(thickness), found = levels(low - deepest, high, THICKNESS_BANDS);
  const first = found[0], last = found[found.length - 1];
  const shareOf = (mm) => (mm < low ? FOR_CUTS * (mm - first) / (low - first) : FOR_CUTS + (1 - FOR_CUTS) * (mm - low) / (last - low));
  const even = high - low < EVEN;
  return {
    ...bands(found, colours.thickness, { share: (k) => shareOf(0.5 * (found[k] + found[k + 1])) }),
    /** Where lines are drawn on a map: deeper cuts than there are colours for are told by lines as well. */
    lines(values) {
      const step = found[1] - first, below = [], [thinnest] = spread(values);
      for (let level = first - step; level > thinnest; level -= step) below.unshift(Number(level.toPrecision(12)));
      return [...below, ...found].filter((level) => !even || level < low - NEAR || level > high + NEAR);
    },
  };
}

/** Bands of what was taken [mm], as deep as wood of this thickness may be cut. */
export function takenBands({ colours }, thickness) {
  const [, high] = spread(thickness);
  const found = TAKEN.filter((depth) => depth < Math.max(MOST_TAKEN * high, 0.1)), deepest = found.length - 2;
  return bands(found, ["#ffffff", ...colours.taken], { share: (k) => (k ? 0.5 + 0.5 * k / deepest : 0), just: JUST }); // the lightest cut is seen
}

/** Bands of what a shaving does [Hz]: as far as all but a fiftieth of the places go, for a few spots beside a hole would take all the colours. */
export function changeBands({ colours }, hz) {
  const sizes = hz.filter((value) => !Number.isNaN(value)).map(Math.abs).sort();
  const most = Math.max(sizes[Math.floor(0.98 * (sizes.length - 1))] ?? 0, 1e-6);
  return bands(levels(-most, most, CHANGE_BANDS), colours.change);
}

/** Bands between levels; `share(k)` tells how far along the colours a band lies, evenly unless given; what lies below a level by no more than the share `just` counts as over it. */
function bands(found, hexes, { share = (k) => k / (found.length - 2), just = 0 } = {}) {
  const count = found.length - 1, tint = scale(hexes), table = Array.from({ length: count }, (_, k) => tint(share(k)).map(Math.round));
  return {
    levels: found,
    table,
    digits: digitsOf(found),
    /** In which band a value lies; what is beyond the ends has their colours. */
    of(value) {
      let k = 0;
      while (k < count - 1 && value >= found[k + 1] * (1 - just)) k += 1;
      return k;
    },
    lines: () => found.slice(1, -1).map((level) => level * (1 - just)),
    /** The level that a line stands for. */
    levelOf: (line) => line / (1 - just),
  };
}

/** How many decimals it takes to tell levels as they are. */
function digitsOf(found) {
  for (let digits = 1; digits < 6; digits++) if (found.every((level) => Math.abs(Number(level.toFixed(digits)) - level) < 1e-9)) return digits;
  return 6;
}

/** A level as it is written on its line and in the key. */
export function levelWords(level, digits) {
  return level.toFixed(digits).replace("-", "\u2212");
}

function spread(values) {
  let low = Infinity, high = -Infinity;
  for (const value of values) { if (value < low) low = value; if (value > high) high = value; }
  return [low, high];
}
