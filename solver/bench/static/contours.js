// Lines of equal value on a grid, by marching squares, joined to polylines.

/** Return for each level its polylines in grid coordinates [[row, column], ...]; NaN is where there is no map. */
export function contours(values, rows, columns, levels) {
  const links = levels.map(() => new Map());
  for (let r = 0; r < rows - 1; r++) {
    for (let c = 0; c < columns - 1; c++) {
      const i = r * columns + c;
      const a = values[i], b = values[i + 1], d = values[i + columns], e = values[i + columns + 1];
      const low = Math.min(a, b, d, e), high = Math.max(a, b, d, e);
      if (!(low <= high)) continue; // one of them is no number
      for (let k = 0; k < levels.length; k++) {
        const level = levels[k];
        if (level <= low || level > high) continue;
        crossCell(links[k], values, columns, i, level);
      }
    }
  }
  return links.map((ends, k) => joined(ends, values, columns, levels[k]));
}

// An edge of the grid is numbered 2 i for the one along the row from point i, 2 i + 1 for the one along the column.
function crossCell(ends, values, columns, i, level) {
  const a = values[i] >= level, b = values[i + 1] >= level;
  const d = values[i + columns] >= level, e = values[i + columns + 1] >= level;
  const top = 2 * i, left = 2 * i + 1, right = 2 * (i + 1) + 1, bottom = 2 * (i + columns);
  const crossed = [];
  if (a !== b) crossed.push(top);
  if (b !== e) crossed.push(right);
  if (d !== e) crossed.push(bottom);
  if (a !== d) crossed.push(left);
  if (crossed.length === 2) link(ends, crossed[0], crossed[1]);
  else if (crossed.length === 4) {
    const middle = (values[i] + values[i + 1] + values[i + columns] + values[i + columns + 1]) / 4 >= level;
    if (middle === a) { link(ends, top, right); link(ends, bottom, left); }
    else { link(ends, top, left); link(ends, bottom, right); }
  }
}

function link(ends, one, other) {
  for (const [from, to] of [[one, other], [other, one]]) {
    const known = ends.get(from);
    if (known === undefined) ends.set(from, [to]);
    else known.push(to);
  }
}

function joined(ends, values, columns, level) {
  const left = new Set(ends.keys());
  const lines = [];
  const starts = [...left].filter((edge) => ends.get(edge).length === 1).concat([...left]);
  for (const begin of starts) {
    if (!left.has(begin)) continue;
    const chain = [begin];
    left.delete(begin);
    for (;;) {
      const next = ends.get(chain[chain.length - 1]).find((edge) => left.has(edge));
      if (next === undefined) break;
      chain.push(next);
      left.delete(next);
    }
    if (chain.length > 2 && ends.get(chain[chain.length - 1]).includes(begin)) chain.push(begin);
    lines.push(chain.map((edge) => place(edge, values, columns, level)));
  }
  return lines;
}

function place(edge, values, columns, level) {
  const i = edge >> 1, alongColumn = edge & 1;
  const other = i + (alongColumn ? columns : 1);
  const share = (level - values[i]) / (values[other] - values[i]);
  const row = Math.floor(i / columns), column = i % columns;
  return alongColumn ? [row + share, column] : [row, column + share];
}
