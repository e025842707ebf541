// Thin: a scraper on the screen. Strokes belong to a named trial; the plate that was measured stays as it is.

import { get, post } from "../api.js";
import { AFTER, BEFORE } from "../colours.js";
import { planForm } from "../carving_plan.js";
import { button, el } from "../elements.js";
import { Figures } from "../figures.js";
import { drawLines } from "../plan_marks.js";
import { sideBySide } from "../side_by_side.js";
import { shapeView } from "../shape.js";
import { tonesTable } from "../tones.js";
import { Where } from "../where.js";

export const NAME = "thin";
export const TITLE = "Thin";
export const KEYS = " Enter or the space bar cuts at the mark, with Shift from the last cut to the mark in one stroke.";

/** The scraper as it was set last, by the plate it was set for: it stays so while one looks at other things. */
const scraper = { folder: null, width: null, cut: null };

/** What is said over the plate until wood was taken from it for the first time. */
const HINT = "drag over the plate to take wood", HINT_WHERE_FINGERS_SCROLL = "rest a finger on the plate, then drag, to take wood";

const CAUTION = "Try on the screen, take half, and measure: wood cannot be put back. Sharp blades, hands behind them; wear a mask that fits, and draw the dust off at the tool. The rules where you work come first.";

export function enter(page, bench) {
  return new Thin(page, bench);
}

class Thin {
  constructor(page, bench) {
    this.bench = bench;
    this.page = page;
    this.trial = null;
    this.tried = null; // lines of the trial, as far as they were asked for
    this.queue = Promise.resolve();
    this.asking = false;
    this.next = null;
    this.turn = 0; // goes on whenever a stroke is taken back while it is made
    this.lastCut = null;
    this.here = true;
    this.left = new AbortController();
    addEventListener("keydown", (event) => this.shortcut(event), { signal: this.left.signal });
    page.append(el("h2", {}, "Thin"), el("p", { class: "quiet" }, "The scraper is ready in a moment."));
  }

  arrived(part) {
    if (part === "live") this.begin();
    if (part === "modes" && !this.table) this.showTable();
    if (part === "shavings") this.where?.ready();
  }

  /** The plate was given other colours. */
  coloured() {
    this.where?.tell(this.where.modes);
  }

  leave() {
    this.here = false;
    this.left.abort();
    this.shape?.leave();
    this.bench.plan.undoPatch();
    this.bench.plan.setTaken(null);
    if (this.bench.plan.kind === "taken") this.bench.colourBy("thickness"); // elsewhere nothing is taken
    this.bench.plan.over("thin", null);
    this.bench.hint(null);
  }

  showTable() {
    this.tableAtOnce();
    this.page.replaceChildren(el("h2", {}, "Thin"), el("p", { class: "quiet waits" }, "The scraper is ready in a moment."), this.table.table);
  }

  choose(k) {
    this.bench.chosen = k;
    this.shape?.choose(k);
    if (this.lines) this.drawOver();
  }

  async begin() {
    const { untouched, trials } = await get(this.bench.path("/trials"));
    if (!this.here) return;
    this.untouched = untouched;
    this.build();
    this.listTrials(trials);
    const open = trials.filter((trial) => trial.carved === null);
    if (open.length) this.inTurn(() => this.openTrial(open[open.length - 1].key)); // a cut made at once waits for it
    else this.noTrial();
    this.bench.hand.take({
      width: () => Number(this.width.value) || 20,
      down: (path) => this.press(path),
      move: (path) => this.press(path),
      up: (path) => this.lift(path),
      cancel: () => this.cancel(),
      cut: (place, run) => this.lift(run && this.lastCut ? [this.lastCut, place] : [place]),
    });
  }

  build() {
    const { picture } = this.bench;
    if (scraper.folder !== picture.folder) Object.assign(scraper, { folder: picture.folder, width: String(usualWidth(picture)), cut: "0.05" });
    this.width = el("input", { type: "number", id: "width", min: "4", max: "200", step: "1", value: scraper.width });
    this.width.addEventListener("input", () => { scraper.width = this.width.value; this.bench.hand.draw(); });
    this.cut = el("input", { type: "number", id: "cut", min: "0.01", max: "10", step: "0.01", value: scraper.cut });
    this.cut.addEventListener("input", () => { scraper.cut = this.cut.value; });
    this.picker = el("select", { id: "trial", change: () => this.inTurn(() => this.openTrial(this.picker.value)) });
    this.undo = button("Undo", () => this.act("undo"), { id: "undo", disabled: true, title: "Ctrl+Z", "aria-keyshortcuts": "Control+Z" });
    this.redo = button("Redo", () => this.act("redo"), { id: "redo", disabled: true, title: "Ctrl+Shift+Z", "aria-keyshortcuts": "Control+Shift+Z" });
    this.away = button("Throw away", () => this.throwAway(), { id: "throw-away", disabled: true });
    this.carve = button("It was carved", () => this.carved(), { id: "carved", disabled: true });
    this.name = el("input", { type: "text", id: "trial-name", maxlength: "60", placeholder: "lower bouts" });
    this.lines = el("input", { type: "checkbox", id: "lines", change: () => this.followLines() });
    this.said = el("p", { role: "alert", class: "warn", id: "said" });
    this.figures = new Figures();
    this.tableAtOnce();
    this.trialsBox = el("div", {});
    this.shape = shapeView(this.bench);
    this.page.replaceChildren(
      el("h2", {}, "Thin"),
      el("div", { class: "fields", id: "scraper" },
        el("label", { class: "field" }, "Scraper, mm wide", this.width),
        el("label", { class: "field" }, "Cut, mm deep", this.cut),
        el("label", { class: "field" }, this.lines, "Node lines (dashed: before)")),
      el("div", { class: "buttons" },
        el("label", { class: "field" }, "Trial", this.picker), this.undo, this.redo, this.away, this.carve),
      this.figures.list,
      el("div", { class: "with-shape below" },
        el("div", {},
          this.table.table,
          this.where.words,
          this.said,
          this.figures.warning,
          planForm(this.bench, { adopt: (trial) => this.adopt(trial), here: () => this.here }),
          el("form", { class: "buttons", submit: (event) => { event.preventDefault(); this.beginTrial(this.name.value); } },
            el("label", { class: "field" }, "New trial", this.name), el("button", { type: "submit" }, "Begin")),
          this.trialsBox),
        this.shape.box),
      el("p", { class: "caution" }, CAUTION),
    );
    this.shape.choose(this.bench.chosen);
  }

  tableAtOnce() {
    if (this.table) return;
    this.where = new Where(this.bench);
    this.table = tonesTable(this.bench, (k) => this.choose(k), { where: this.where });
    this.where.onPick((k) => { this.table.choose(k); this.choose(k); });
  }

  listTrials(trials) {
    this.trials = new Map(trials.map((trial) => [trial.key, trial]));
    this.relist();
  }

  relist() {
    this.bench.hint([...this.trials.values()].some((trial) => trial.strokes > 0 || trial.planned) ? null : this.bench.hand.rests ? HINT_WHERE_FINGERS_SCROLL : HINT);
    const trials = [...this.trials.values()], open = trials.filter((trial) => trial.carved === null);
    this.picker.replaceChildren(...(open.length ? open : [{ key: "", name: "none yet" }]).map((trial) => el("option", { value: trial.key }, trial.name)));
    if (this.trial) this.picker.value = this.trial.key;
    this.picker.disabled = open.length === 0;
    this.trialsBox.replaceChildren(...(trials.length > 1 ? [sideBySide(this.bench.tones.called, this.untouched, trials)] : []));
  }

  noTrial() {
    this.trial = null;
    this.undo.disabled = this.redo.disabled = this.away.disabled = this.carve.disabled = true;
    this.bench.plan.keepPatch();
    this.bench.plan.setTaken(null);
    this.show(this.untouched);
    this.followLines();
  }

  async beginTrial(name) {
    const words = name.trim() || freeName(this.trials);
    await this.inTurn(() => this.doing(async () => { // a stroke made at once belongs to it
      const trial = await post(this.bench.path("/trials"), { name: words });
      this.name.value = "";
      this.adopt(trial);
    }));
  }

  async openTrial(key) {
    await this.doing(async () => {
      const trial = await get(this.bench.path(`/trials/${key}`));
      if (this.here) this.adopt(trial);
    });
  }

  adopt(trial) {
    this.trial = trial;
    this.trials.set(trial.key, trial);
    this.relist();
    this.bench.plan.keepPatch();
    this.bench.plan.setTaken(trial.taken_um);
    this.lastCut = null;
    this.show(trial);
    this.ready(trial);
    this.followLines();
  }

  ready(trial) {
    this.undo.disabled = trial.strokes === 0;
    this.redo.disabled = trial.undone === 0;
    this.away.disabled = false;
    this.carve.disabled = trial.removed_g <= 0;
  }

  /** The scraper lies on the plate: show what the stroke does so far, the newest state of it as soon as there is an answer. */
  press(path) {
    this.bench.hint(null);
    this.shape.hold();
    this.next = [...path];
    if (!this.asking) this.askOn();
  }

  async askOn() {
    this.asking = true;
    try {
      while (this.next && this.here) {
        const path = this.next, { turn } = this;
        this.next = null;
        await this.inTurn(() => this.send(path, false, turn));
      }
    } finally {
      this.asking = false;
    }
  }

  /** The stroke was taken back while it was made: the plate is shown as it was before. */
  cancel() {
    this.relist();
    this.next = null;
    this.turn += 1; // what is still asked of it is of no stroke any more
    this.inTurn(() => {
      if (!this.here) return;
      this.bench.plan.undoPatch();
      this.show(this.trial ?? this.untouched);
      this.say("");
    });
  }

  /** The scraper is lifted: the stroke is kept. */
  lift(path) {
    this.bench.hint(null);
    this.next = null;
    this.lastCut = path[path.length - 1];
    return this.inTurn(() => this.send(path, true, this.turn));
  }

  /** Do one thing after the other: each must know the version that the one before has made. */
  inTurn(act) {
    const done = this.queue.then(act);
    this.queue = done.catch(() => {}); // what failed is told by itself, and holds nothing else up
    return done;
  }

  async send(path, done, turn) {
    const gone = () => !this.here || (!done && turn !== this.turn);
    if (gone()) return;
    await this.doing(async () => {
      const stroke = { width_mm: Number(this.width.value), cut_mm: Number(this.cut.value), path_mm: path };
      const answer = this.trial
        ? await post(this.bench.path(`/trials/${this.trial.key}/stroke`), { version: this.trial.version, stroke, done })
        : await post(this.bench.path("/first-stroke"), { name: freeName(this.trials), stroke, done }); // the trial begins with it
      if (gone()) return;
      this.show(answer);
      await painted();  // the figures are seen before the picture, which takes longer
      if (gone()) return;
      this.bench.plan.patch(answer.patch);
      if (done) this.keep(answer);
    });
  }

  keep(answer) {
    this.bench.plan.keepPatch();
    this.trial = { ...this.trial, ...answer };
    this.trials.set(this.trial.key, this.trial);
    this.ready(answer);
    this.relist();
    this.bench.hand.tell();
    this.followLines();
  }

  /** Ctrl+Z and Ctrl+Shift+Z, except where one types: there they are the field's own. */
  shortcut(event) {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || event.key.toLowerCase() !== "z") return;
    if (!this.undo || event.target.matches("textarea, input:not([type=checkbox], [type=radio], [type=range])")) return;
    event.preventDefault();
    if (this.bench.hand.path) this.bench.hand.cancel();
    else this.act(event.shiftKey ? "redo" : "undo");
  }

  act(what) {
    return this.inTurn(() => this.doing(async () => {
      if (!this.trial || this[what].disabled) return;
      const answer = await post(this.bench.path(`/trials/${this.trial.key}/${what}`), { version: this.trial.version });
      this.show(answer);
      this.bench.plan.patch(answer.patch);
      this.keep(answer);
    }));
  }

  async throwAway() {
    if (!confirm(`Throw away the trial "${this.trial.name}"? Its strokes cannot be had back.`)) return;
    await this.doing(async () => {
      const { trials } = await post(this.bench.path(`/trials/${this.trial.key}/throw-away`), { version: this.trial.version });
      this.trial = null;
      this.listTrials(trials);
      const open = trials.filter((trial) => trial.carved === null);
      if (open.length) await this.openTrial(open[open.length - 1].key);
      else this.noTrial();
    });
  }

  /** The maker took that wood: the map of thickness follows, until the caliper has been there. */
  async carved() {
    const words = `Was the wood of "${this.trial.name}" really taken off the plate? A new map of thickness is written into the folder, as it was tried, and an entry into the log; your readings stay in their file. Measure with the caliper soon.`;
    if (!confirm(words)) return;
    await this.doing(async () => {
      const { written } = await post(this.bench.path(`/trials/${this.trial.key}/carved`), { version: this.trial.version, mark: this.bench.picture.mark });
      await this.bench.readAgain(`Written into the folder: ${written.join(" and ")}, and an entry in the log. Measure again before you go on.`);
    });
  }

  /** Do something of which the server may say in a sentence that it cannot be done. */
  async doing(act) {
    try {
      await act();
      this.say("");
    } catch (refusal) {
      if (refusal.status === undefined) throw refusal;
      this.bench.plan.undoPatch();
      if (refusal.status === 409 && this.trial) {
        const key = this.trial.key;
        this.adopt(await get(this.bench.path(`/trials/${key}`)));
      } else this.show(this.trial ?? this.untouched);
      this.say(refusal.message);
    }
  }

  say(words) {
    if (this.said.textContent !== words) this.said.textContent = words;
  }

  show(state) {
    this.table.update(state.modes);
    this.where.tell(state.modes);
    this.figures.show(state, this.untouched, this.bench.picture.least_mm);
  }

  /** Ask where the lines run on the trial, and draw them once that is known. */
  async followLines() {
    const { trial } = this;
    if (!this.lines.checked || !trial) this.tried = null;
    else {
      try {
        const { version, lines_mm: lines } = await get(this.bench.path(`/trials/${trial.key}/lines`));
        if (!this.here || this.trial?.version !== version) return; // another stroke has asked since
        this.tried = trial.removed_g > 0 ? lines : null;
      } catch (refusal) {
        if (refusal.status === undefined) throw refusal;
        this.tried = null;
      }
    }
    if (this.here) this.drawOver();
  }

  drawOver() {
    const { chosen, plan, tones } = this.bench, before = tones.lines_mm[chosen], after = this.tried?.[chosen];
    if (!this.lines.checked) plan.over("thin", null);
    else if (!after) plan.over("thin", (context) => drawLines(context, plan, before));
    else {
      plan.over("thin", (context) => {
        drawLines(context, plan, before, { colour: BEFORE, dash: [7, 5] });
        drawLines(context, plan, after, { colour: AFTER });
      });
    }
  }
}

/** Wait until what was changed so far is on the screen; a window that is not seen paints nothing. */
function painted() {
  return new Promise((done) => {
    requestAnimationFrame(() => setTimeout(done));
    setTimeout(done, 60);
  });
}

function freeName(trials) {
  const names = new Set([...trials.values()].map((trial) => trial.name));
  for (let k = 1; ; k++) if (!names.has(`trial ${k}`)) return `trial ${k}`;
}

function usualWidth(picture) {
  const [xmin, , xmax] = picture.bounds_mm;
  return Math.max(6, Math.round((xmax - xmin) / 14));
}
