// Colours of maps: told apart by the colour-blind and in a grey copy; the same as in all of the program's pictures.

/** Lines seen in powder. */
export const SEEN = "#1b66b3";

/** Computed lines of the plate as it stands, and of what is tried on it. */
export const BEFORE = "#5d4a3a", AFTER = "#123f6e";

function parsed(hex) {
  const number = parseInt(hex.slice(1), 16);
  return [number >> 16, (number >> 8) & 255, number & 255];
}

/** Return a function from 0..1 to [r, g, b] that runs evenly through the colours. */
export function scale(hexes) {
  const stops = hexes.map(parsed);
  return (share) => {
    const at = Math.min(Math.max(share, 0), 1) * (stops.length - 1);
    const low = Math.min(Math.floor(at), stops.length - 2);
    const part = at - low;
    return [0, 1, 2].map((k) => stops[low][k] + part * (stops[low + 1][k] - stops[low][k]));
  };
}

/** Return round levels, about `count` of them, from below `low` to above `high`. */
export function levels(low, high, count = 8) {
  const rough = Math.max(high - low, 1e-9) / count;
  const ten = 10 ** Math.floor(Math.log10(rough));
  const step = ten * [1, 2, 2.5, 5, 10].find((factor) => factor * ten >= rough * 0.999);
  const found = [];
  for (let k = Math.floor(low / step); k <= Math.ceil(high / step); k++) found.push(Number((k * step).toPrecision(12)));
  return found;
}
