// Wood and weather: the wood that the log tells, kept only when asked to, and what another room does to the plate.

import { get, post } from "../api.js";
import { button, called, el, signed, svg } from "../elements.js";
import { progressLine, watch } from "../jobs.js";

export const NAME = "wood";
export const TITLE = "Wood and weather";

const QUANTITY = /^(.*?)_(g|mm|GPa|kg_m3)$/, DIGITS = { g: 1, mm: 2, GPa: 3, kg_m3: 0 };
const STIFFNESS = {
  EL: "along the grain", ER: "across the rings", ET: "along the rings",
  GLR: "shear, grain and across", GLT: "shear, grain and rings", GRT: "rolling shear",
};

/** What the page says once the plate was read again with the wood that was kept. */
let kept = null;

export function enter(page, bench) {
  return new Wood(page, bench);
}

class Wood {
  constructor(page, bench) {
    this.page = page;
    this.bench = bench;
    this.here = true;
    this.begin();
  }

  leave() {
    this.here = false;
  }

  async begin() {
    const heading = el("h2", {}, "Wood and weather");
    this.page.replaceChildren(heading);
    let present;
    try {
      present = await get(this.bench.path("/wood"));
    } catch (refusal) {
      this.page.append(el("p", { class: "warn" }, refusal.message));
      return;
    }
    if (!this.here) return;
    this.page.replaceChildren(heading, ...this.fitPart(present), ...this.weatherPart(present));
  }

  // -- the wood -------------------------------------------------------------------------------------------------------

  fitPart(present) {
    this.ticks = present.entries.map((entry) => el("input", { type: "checkbox", value: entry.entry, checked: entry.usual, id: `fit-${entry.entry.replace(/\.toml$/, "")}` }));
    this.fitSaid = el("p", { id: "fit-said", role: "status" }, kept ?? "");
    kept = null;
    this.fitGoing = progressLine();
    this.found = el("div", { id: "found" });
    const holds = present.holds
      ? `The wood found on ${present.holds.slice(0, 10)} holds for all that is computed.`
      : "What is computed rests on the wood as plate.toml states it.";
    return [
      el("h3", {}, "The wood, by its tones"),
      el("p", { class: "quiet" }, `${holds} The log may tell it better.`),
      present.entries.length
        ? el("fieldset", { class: "boxed" }, el("legend", {}, "Entries that tell"), ...present.entries.map((entry, k) => el("label", { class: "tick" }, this.ticks[k],
          `${entry.taken.slice(0, 10)} ${entry.taken.slice(11, 16)}, ${entry.stage ? `${entry.stage}, ` : ""}${entry.tones} tones`)),
        el("p", { class: "quiet" }, "An entry tells of this plate only if nothing was carved, cut or glued since, or if it names what was otherwise."))
        : el("p", {}, "The log has no entry with tones. Enter in the Diary what you hear and weigh."),
      el("div", { class: "buttons" }, button("Find the wood", () => this.fit(), { class: "main", id: "find-wood", disabled: !present.entries.length })),
      this.fitGoing.line, this.fitSaid, this.found,
    ];
  }

  async fit() {
    this.found.replaceChildren();
    const entries = this.ticks.filter((tick) => tick.checked).map((tick) => tick.value);
    await this.doing(this.fitSaid, this.fitGoing, () => post(this.bench.path("/wood/fit"), { mark: this.bench.picture.mark, entries }), (fit) => this.showFit(fit));
  }

  showFit(fit) {
    const wood = Object.entries(fit.wood).map(([key, one]) => {
      const [, name, unit] = QUANTITY.exec(key), digits = DIGITS[unit];
      return [quantity(name, unit), ...[one.before, one.value, one.low, one.high].map((value) => value.toFixed(digits)), `${one.in_words} (${Math.round(100 * one.told_by_data)} %)`];
    });
    const tones = fit.modes.map((tone, k) => [
      fit.modes[k - 1]?.entry === tone.entry ? "the same" : moment(tone.entry), tone.noted_mode ?? "-", tone.order === null ? "no mode" : called(tone),
      tone.measured_hz.toFixed(1), ...(tone.off_pct === null ? ["-", "-", "-", ""] : [tone.fitted_hz.toFixed(1), signed(tone.off_pct, 2), signed(tone.off_cents, 0), offBar(tone.off_cents)]),
      tone.used ? `${Math.round(100 * tone.weight)} %` : "not used",
    ]);
    const masses = fit.masses.map((mass) => el("p", {}, `Weighed ${mass.measured_g.toFixed(1)} g, expected ${mass.expected_g.toFixed(1)} g (95 %: ${mass.low_g.toFixed(1)} to ${mass.high_g.toFixed(1)})${mass.used ? "" : "; not used"}.`));
    this.looked = fit.doubts.map((doubt, k) => el("input", { type: "checkbox", id: `doubt-${k}`, change: () => this.mayKeep() }));
    this.keepButton = button("Keep this wood", () => this.keep(fit), { id: "keep-wood", class: "main" });
    this.keepable = fit.why_not === null;
    this.found.replaceChildren(...[
      table("constants", "The wood", ["Constant", "Before", "Found", "95 % from", "to", "Who says so"], wood, 1),
      table("residuals", "The tones", ["Entry", "Noted", "Taken for", "Measured Hz", "Found Hz", "Off %", "Cents", "25 cents to a side", "Counts"], tones, 3),
      el("p", {}, `The tones lie ${fit.mean_residual_pct.toFixed(2)} % off on the mean. The share behind each constant is how much of what was open the log has settled.`),
      ...masses,
      fit.doubts.length ? el("fieldset", { class: "boxed", id: "doubts" }, el("legend", {}, "Look at this before you keep it"), ...fit.doubts.map((doubt, k) => el("div", { class: "doubt" }, el("p", {}, doubt.in_words), el("label", { class: "tick" }, this.looked[k], "I looked at it.")))) : null,
      fit.why_not ? el("p", { class: "warn" }, fit.why_not) : null,
      el("div", { class: "buttons" }, this.keepButton),
      el("p", { class: "quiet" }, "Kept, it stands in plate.toml beside the stated wood and holds for all that is computed, until it is taken out there. Nothing is written before."),
    ].filter(Boolean));
    this.mayKeep();
  }

  mayKeep() {
    this.keepButton.disabled = !this.keepable || this.looked.some((tick) => !tick.checked);
  }

  async keep(fit) {
    this.say(this.fitSaid, "", false);
    try {
      const told = await post(this.bench.path("/wood"), { mark: this.bench.picture.mark, entries: fit.entries, confirmed: this.looked.filter((tick) => tick.checked).length });
      kept = `Kept in plate.toml at ${told.written.slice(11, 16)}.`;
      await this.bench.readAgain();
    } catch (refusal) {
      if (refusal.status === undefined) throw refusal;
      this.say(this.fitSaid, refusal.message, true);
    }
  }

  // -- the weather ----------------------------------------------------------------------------------------------------

  weatherPart(present) {
    const field = (id, words, value) => {
      const input = el("input", { type: "text", id, size: "6", inputmode: "decimal", autocomplete: "off", value });
      return [input, el("label", { class: "field" }, words, input)];
    };
    const [warm, damp] = present.room ?? ["", ""];
    const fields = {
      fromWarm: field("from-warm", "From a room of \u00b0C", String(warm)), fromDamp: field("from-damp", "and % humidity", String(damp)),
      toWarm: field("to-warm", "To a room of \u00b0C", ""), toDamp: field("to-damp", "and % humidity", ""),
    };
    this.room = Object.fromEntries(Object.entries(fields).map(([name, [input]]) => [name, input]));
    this.weatherSaid = el("p", { id: "weather-said", role: "status" });
    this.weatherGoing = progressLine();
    this.weathered = el("div", { id: "weathered" });
    return [
      el("h3", {}, "The weather"),
      el("form", { id: "weather", submit: (event) => { event.preventDefault(); this.weather(); } },
        el("div", { class: "fields" }, fields.fromWarm[1], fields.fromDamp[1]),
        el("div", { class: "fields" }, fields.toWarm[1], fields.toDamp[1], el("button", { type: "submit", class: "main", id: "tell-weather" }, "What the other room does"))),
      this.weatherGoing.line, this.weatherSaid, this.weathered,
    ];
  }

  async weather() {
    this.weathered.replaceChildren();
    const { fromWarm, fromDamp, toWarm, toDamp } = this.room;
    const rooms = { to: [toWarm.value, toDamp.value], start: [fromWarm.value, fromDamp.value] };
    await this.doing(this.weatherSaid, this.weatherGoing, () => post(this.bench.path("/weather"), { mark: this.bench.picture.mark, ...rooms }), (told) => this.showWeather(told));
  }

  showWeather(told) {
    const tones = told.modes.map((tone) => [called(tone), tone.hz.toFixed(1), tone.low_hz.toFixed(1), tone.high_hz.toFixed(1), `${signed(tone.low_cents, 0)} to ${signed(tone.high_cents, 0)}`]);
    const changes = Object.entries(told.changes).map(([key, one]) => {
      const [, name, unit] = QUANTITY.exec(key), [from, low, high] = [one.from, one.low, one.high].map((value) => value.toFixed(DIGITS[unit]));
      return [quantity(name, unit), from, low === high ? low : `${low} to ${high}`];
    });
    this.weathered.replaceChildren(
      el("p", {}, `The wood goes from ${told.moisture_pct.from.toFixed(1)} to ${told.moisture_pct.to.toFixed(1)} % moisture, in hours to days.`),
      table("weather-tones", "Its tones", ["Tone", "Now Hz", "There Hz, from", "to", "Cents"], tones, 1),
      table("weather-changes", "The plate and its wood", ["", "Now", "There"], changes, 1),
      ...told.since_last_entry.map((part) => el("p", {}, part.in_words)),
      ...[...told.band, ...told.remarks].map((words) => el("p", { class: "quiet" }, words)),
    );
  }

  /** Do something long, and say what it is refused for. */
  async doing(said, going, begin, show) {
    this.say(said, "", false);
    try {
      const end = await watch(await begin(), { onTold: (told) => going.show(told), still: () => this.here });
      if (!this.here) return;
      if (end.state === "done") show(end.result);
      else this.say(said, end.said, true);
    } catch (refusal) {
      if (refusal.status === undefined) throw refusal;
      this.say(said, refusal.message, true);
    }
  }

  say(place, words, wrong) {
    place.textContent = words;
    place.classList.toggle("warn", wrong);
  }
}

/** What a figure of the wood or the plate is called, with its unit. */
function quantity(name, unit) {
  const words = STIFFNESS[name] ? `${name}, ${STIFFNESS[name]}` : name.replaceAll("_", " ");
  return `${words}, ${unit.replace("_m3", "/m\u00b3")}`;
}

/** A table whose first column heads its rows; up to `words` columns are words. */
function table(id, caption, heads, rows, words) {
  const aside = (k, row) => k < words || typeof row[k] === "string" && /[a-z]{3}/.test(row[k]);
  return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": caption },
    el("table", { id, class: "close" }, el("caption", {}, caption),
      el("thead", {}, el("tr", {}, ...heads.map((head, k) => (head ? el("th", { scope: "col", class: aside(k, rows[0] ?? []) && "words" }, head) : el("td", {}))))),
      el("tbody", {}, ...rows.map((row) => el("tr", {}, el("th", { scope: "row" }, row[0]), ...row.slice(1).map((cell, k) => el("td", { class: aside(k + 1, row) && "words" }, cell)))))));
}

/** When an entry was taken, by the name of its file where it bears the usual one. */
function moment(name) {
  return name.replace(/\.toml$/, "").replace(/T(\d\d)(\d\d)\d\d/, " $1:$2");
}

/** How far a tone lies off, as a bar to either side: its end at 25 cents. */
function offBar(cents) {
  const wide = 76, middle = wide / 2, long = Math.min(middle, Math.abs(cents) / 25 * middle);
  return svg("svg", { width: wide, height: 12, viewBox: `0 0 ${wide} 12`, "aria-hidden": "true", class: "off-bar" },
    svg("rect", { x: cents < 0 ? middle - long : middle, y: 2, width: long, height: 8 }), svg("line", { x1: middle, y1: 0, x2: middle, y2: 12 }));
}
