// The table of tones, kept in place while its figures change.

import { button, el, noteWords, signed } from "./elements.js";

/** What the interval of a tone means, in words. */
export const SURE = "95 %: where the tone lies by what the log told of this wood.";

/** Return a table of the plate's tones; `update(tones)` writes what a trial makes of them, `choose(k)` marks a row. */
export function tonesTable(bench, onChoose, { changes = true, where = null } = {}) {
  const { tones, picture } = bench, sure = tones.modes.some((tone) => tone.low_hz !== undefined);
  const rows = tones.modes.map((tone, k) => row(bench, tone, k, { changes, sure, where }, () => { choose(k); onChoose(k); }));
  const heads = [["Tone"], ["Now", "Hz"], ...(sure ? [["95 %", "Hz"]] : []), ["Note", "cents", "note"], ...(changes ? [["Change", "Hz"]] : []), ["Wanted", "Hz"], ["Measured", picture.measured ?? "Hz"]];
  const table = el("table", { id: "tones" },
    el("caption", { class: "quiet" }, `Tones of the free plate, computed. Choose one to see its lines.${tones.mixed.map((words) => ` ${words}`).join("")}${sure ? ` ${SURE}${changes ? " A change is surer: what is not known moves before and after alike." : ""}` : ""}`),
    el("thead", {}, el("tr", {}, ...heads.map(([head, unit, kind]) => el("th", { scope: "col", class: kind }, head, ...(unit ? [el("br"), el("span", { class: "quiet nowrap" }, unit)] : []))))),
    el("tbody", {}, ...rows.map((one) => one.row)));

  function choose(k) {
    rows.forEach((one, i) => { one.row.classList.toggle("chosen", i === k); one.pick.setAttribute("aria-pressed", String(i === k)); });
  }

  /** Tones of a trial in the order of those before; one that went out of sight is left blank. */
  function update(changed) {
    const after = new Map(changed.map((tone) => [tone.order, tone]));
    rows.forEach((one, k) => one.update(after.get(k + 1) ?? null));
  }
  choose(bench.chosen);
  return { table: el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Tones" }, table), update, choose };
}

function row(bench, tone, k, { changes, sure, where }, act) {
  const wanted = tone.mode ? bench.picture.wanted_hz[tone.mode] : undefined;
  const measured = tone.mode ? bench.picture.measured_hz[tone.mode] : undefined;
  const pick = button(bench.tones.called[k], act, { "aria-pressed": "false" });
  const [hz, note, change, wish] = ["hz", "note", "change", "wish"].map((kind) => el("td", { class: kind }));
  const off = el("span", { class: "off" });
  if (wanted !== undefined) wish.append(wanted.toFixed(1), off, ...(where ? [where.button(k)] : []));
  const ends = el("td", { class: "quiet nowrap" });
  const made = el("tr", { "data-order": String(k + 1) }, el("th", { scope: "row" }, pick), hz, ...(sure ? [ends] : []), note, ...(changes ? [change] : []), wish, el("td", {}, measured === undefined ? "" : measured.toFixed(1)));
  function update(now) {
    set(hz, now === null ? "?" : now.hz.toFixed(1));
    set(ends, now?.low_hz === undefined ? "" : interval(now));
    set(note, now === null ? "" : noteWords(now));
    const moved = now === null ? 0 : now.hz - tone.hz;
    set(change, Math.abs(moved) < 0.005 ? "" : signed(moved, 2));
    set(off, wanted === undefined || now === null ? "" : ` (${signed(now.hz - wanted, 1)})`);
  }
  update(tone);
  return { row: made, pick, update };
}

/** The 95 % interval of a tone [Hz] in words. */
export function interval(tone) {
  return `${tone.low_hz.toFixed(1)} to ${tone.high_hz.toFixed(1)}`;
}

function set(cell, words) {
  if (cell.firstChild === null) cell.append("");
  if (cell.firstChild.data !== words) cell.firstChild.data = words;
}
