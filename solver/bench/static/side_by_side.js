// All trials of a plate beside each other: the plate as it stands first.

import { el } from "./elements.js";

/** Return the table: a row for each of the tones by its name, then mass and thinnest place. */
export function sideBySide(names, untouched, trials) {
  const columns = [{ name: "As it stands", ...untouched }, ...trials];
  const cell = (trial, k) => trial.modes.find((tone) => tone.order === k + 1)?.hz.toFixed(1) ?? "?";
  const line = (head, value) => el("tr", {}, el("th", { scope: "row" }, head), ...columns.map((trial) => el("td", {}, value(trial))));
  return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Trials side by side" }, el("table", { id: "side-by-side" },
    el("caption", {}, "Trials side by side"),
    el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "Hz"), ...columns.map((trial) => el("th", { scope: "col" }, trial.name + (trial.carved ? " (carved)" : ""))))),
    el("tbody", {}, ...names.map((name, k) => line(name, (trial) => cell(trial, k))),
      line("mass, g", (trial) => trial.mass_g.toFixed(1)), line("thinnest, mm", (trial) => trial.thinnest_mm.toFixed(2)))));
}
