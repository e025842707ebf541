// The page: which plate is on the bench, what is being done with it, and what must be said about the connection.

import { get, onConnection, onKey, post, takeKey } from "./api.js";
import { takeDecimalCommas } from "./decimal_comma.js";
import { button, doneNote, el } from "./elements.js";
import { Hand } from "./hand.js";
import { progressLine, watch } from "./jobs.js";
import { Plan } from "./plan.js";
import { startPage } from "./start.js";
import * as bar from "./tasks/bar.js";
import * as describe from "./tasks/describe.js";
import * as diary from "./tasks/diary.js";
import * as listen from "./tasks/listen.js";
import * as modes from "./tasks/modes.js";
import * as powder from "./tasks/powder.js";
import * as sheet from "./tasks/sheet.js";
import * as thin from "./tasks/thin.js";
import * as wood from "./tasks/wood.js";

const TASKS = [describe, thin, modes, listen, powder, bar, wood, diary, sheet];
const LOOK_AGAIN_MS = 3000;
const find = (id) => document.getElementById(id);

/** What every task may use: the plate's picture and tones, the plan, the hand, and a way to say something. */
const bench = {
  plan: new Plan(find("field"), find("ink"), find("key")),
  picture: null,
  tones: null,
  chosen: 0,
  live: false,
  shavings: null,
  notice, unnotice, openPlate, readAgain, colourBy, hint,
  path: (rest = "") => `/api/plates/${bench.picture.plate}${rest}`,
};
bench.hand = new Hand(bench.plan, find("here"));
/** Made once: a tab that was chosen by keys keeps the focus. */
const tabs = TASKS.map((one) => [one, el("a", { href: `#${one.NAME}`, "data-title": one.TITLE }, one.TITLE)]);
find("tasks").append(...tabs.map(([, tab]) => tab));
let task = null, shownTask = null, reading = 0, loading = false, chosenOn = null;
const going = progressLine("solving");

function notice(name, words, ...buttons) {
  if (find("notices").querySelector(`[data-name="${name}"] p`)?.textContent === words) return; // read out once is enough
  unnotice(name);
  find("notices").append(el("div", { class: "notice", "data-name": name }, el("p", {}, words), ...buttons));
}

function unnotice(name) {
  find("notices").querySelector(`[data-name="${name}"]`)?.remove();
}

/** Say over the plate what may be done with it, or nothing. */
function hint(words) {
  find("hint").hidden = words === null;
  if (words !== null) find("hint").textContent = words;
}

/** Show the first page. */
async function toStart() {
  leaveTask();
  reading += 1;
  bench.picture = null;
  bench.live = false;
  unnotice("changed");
  find("plate").hidden = find("tasks").hidden = find("other-plate").hidden = true;
  find("main").classList.add("start");
  find("title").textContent = "Platewright";
  find("subtitle").textContent = "the free modes of a plate, at the bench";
  document.title = "Platewright bench";
  history.replaceState(null, "", location.pathname);
  await startPage(find("work"), bench);
}

async function openPlate(key) {
  bench.hand.take(null);
  bench.plan.mark = null;
  await load(key);
}

/** Read the plate anew; `done` says above its task what was just written. */
async function readAgain(done = null) {
  await load(bench.picture.plate, done);
}

/** Read a plate and begin to solve it; what is there already is shown at once. */
async function load(key, done = null) {
  const turn = ++reading;
  loading = true;
  find("main").classList.remove("start");
  let picture;
  try {
    picture = await get(`/api/plates/${key}`);
  } catch (refusal) {
    notice("unread", refusal.message, button("Try again", () => { unnotice("unread"); load(key); }), button("Other plates", () => { unnotice("unread"); toStart(); }));
    return;
  } finally {
    loading = false;
  }
  if (turn !== reading) return;
  unnotice("changed");
  unnotice("unread");
  bench.picture = picture;
  bench.tones = null;
  bench.shavings = null;
  bench.live = false;
  find("plate").hidden = find("tasks").hidden = find("other-plate").hidden = false;
  find("title").textContent = picture.title;
  find("subtitle").textContent = picture.folder;
  document.title = `${picture.title} - Platewright bench`;
  find("plan-name").textContent = `${picture.title}, in plan`;
  bench.plan.show(picture);
  colourChoices();
  colourBy(find("colour").value);
  showTask(done);
  await solve(turn);
}

async function solve(turn) {
  const still = () => turn === reading;
  let end;
  try {
    const job = await post(bench.path("/solve"), { mark: bench.picture.mark });
    end = await watch(job, { still, onTold: (told) => still() && going.show(told), onPart: (part) => still() && take(part) });
  } catch (refusal) {
    if (refusal.status === undefined) throw refusal;
    return; // the connection, or the change of the files, tells of itself and begins anew
  }
  if (still() && end.state !== "done") {
    notice("unsolved", end.said, button("Solve again", () => { unnotice("unsolved"); solve(turn); }));
  }
}

async function take(part) {
  if (has(part)) return; // the server was started anew and has it again
  if (part === "modes") {
    const { picture } = bench, tones = await get(bench.path("/modes"));
    if (bench.picture !== picture) return; // another plate was opened meanwhile
    bench.tones = tones;
    if (chosenOn !== picture.folder) bench.chosen = firstWished();
    chosenOn = picture.folder;
  }
  if (part === "live") bench.live = true;
  if (part === "shavings") bench.shavings = (await get(bench.path("/shavings"))).milli_hz;
  colourChoices();
  task?.arrived?.(part);
}

/** The place of the lowest tone that something is wished of. */
function firstWished() {
  return Math.max(bench.tones.modes.findIndex(({ mode }) => mode && bench.picture.wanted_hz[mode] !== undefined), 0);
}

function wantedTask() {
  return TASKS.find((one) => location.hash === `#${one.NAME}`) ?? thin;
}

function showTask(done = null) {
  const wanted = wantedTask();
  if (wanted !== shownTask) find("work").scrollTop = 0; // where the last one stood is no place in this one
  leaveTask();
  shownTask = wanted;
  for (const [one, tab] of tabs) {
    if (one === wanted) tab.setAttribute("aria-current", "page");
    else tab.removeAttribute("aria-current");
  }
  const page = el("div", {});
  find("work").replaceChildren(going.line, ...(done ? [doneNote(done)] : []), page);
  find("work").setAttribute("aria-label", wanted.TITLE);
  find("plan-keys").textContent = `Arrow keys move the mark, with Shift in large steps.${wanted.KEYS ?? ""}`;
  task = wanted.enter(page, bench);
  for (const part of ["modes", "live", "shavings"]) if (has(part)) task.arrived?.(part);
}

function has(part) {
  return part === "modes" ? bench.tones !== null : part === "live" ? bench.live : bench.shavings !== null;
}

function leaveTask() {
  task?.leave?.();
  task = shownTask = null;
  bench.hand.take(null);
  for (const name of [...bench.plan.overlays.keys()]) bench.plan.over(name, null);
  bench.hand.tell();
}

/** Which colours the plate can have now: by thickness, by what was taken, by what a shaving does to a tone. */
function colourChoices() {
  const list = find("colour"), before = list.value;
  const choices = [["thickness", "thickness"], ["taken", "what was taken"]];
  if (bench.tones && bench.shavings) bench.tones.called.forEach((name, k) => choices.push([`hz${k}`, `a shaving's Hz, ${name}`]));
  if (list.options.length !== choices.length) list.replaceChildren(...choices.map(([value, words]) => el("option", { value }, words)));
  list.value = choices.some(([value]) => value === before) ? before : "thickness";
}

function colourBy(value) {
  find("colour").value = value;
  if (value.startsWith("hz")) bench.plan.colourBy("hz", bench.shavings[Number(value.slice(2))]);
  else bench.plan.colourBy(value);
  sayScale();
  bench.hand.tell();
  task?.coloured?.();
}

function sayScale() {
  const kind = bench.plan.kind, least = bench.picture?.least_mm;
  const limit = least ? ` Red hatching: thinner than ${least} mm.` : "";
  const guess = bench.picture?.guess.includes("1") ? " Grey hatching: a guess, no reading near." : "";
  find("scale").textContent = (kind === "hz"
    ? "What 0.1 mm off 1 cm\u00b2 does, in Hz: orange and dashed lower it, blue raises it."
    : kind === "taken" ? "Wood taken on trial or by a plan, in mm." : "Thickness in mm. Dots: caliper readings.") + limit + guess;
}

/** Notice what another window or program did to the plate's files. */
async function lookAgain() {
  if (bench.picture && !document.hidden) {
    try {
      const { mark } = await get(bench.path("/mark"));
      if (bench.picture && !loading && mark !== bench.picture.mark) {
        if (!document.querySelector('[data-name="changed"]')) notice("changed", "The files of this plate were changed by something else. What you see is from before.", button("Read it again", () => readAgain()));
      } else unnotice("changed");
    } catch { /* the connection tells of itself */ }
  }
  setTimeout(lookAgain, LOOK_AGAIN_MS);
}

const LOCKED = "The bench was started anew, or this page has no key. Open the address that the command printed, in this browser; this page then goes on by itself.";
let shutOut = LOCKED;

onConnection((state, why) => {
  if (state === "gone") notice("gone", "The bench has stopped. Start it again with: platewright bench. This page goes on by itself; what you tried is kept in the plate's folder.");
  if (state === "locked") {
    unnotice("gone");
    shutOut = why ?? shutOut;
    notice("locked", shutOut);
  }
  if (state === "back") findAgain().then(() => { unnotice("gone"); unnotice("locked"); });
});
onKey(goOn);

/** There is a key now. */
function goOn() {
  shutOut = LOCKED;
  unnotice("locked");
  return findAgain();
}

/** After a new start of the server the plate has a new key: find it by its folder. */
async function findAgain() {
  if (!bench.picture) return first();
  const key = await keyOf(bench.picture.folder);
  if (key === null) return toStart();
  const picture = await get(`/api/plates/${key}`);
  if (picture.mark !== bench.picture.mark) return load(key);
  bench.picture.plate = key; // as it was: what was typed stays, and the figures with it
  solve(++reading);
}

async function keyOf(folder) {
  const offered = await get("/api/start");
  const open = offered.open.find((plate) => plate.folder === folder);
  if (open) return open.plate;
  const known = [...offered.recent, ...offered.beside, ...offered.demonstrations].find((plate) => plate.folder === folder);
  return known ? (await post("/api/open", { offer: known.offer })).plate : null;
}

async function first() {
  try {
    const offered = await get("/api/start");
    if (offered.open.length) await load(offered.open[0].plate);
    else await toStart();
  } catch (refusal) {
    if (refusal.status !== 401 && refusal.status !== 0) throw refusal;
  }
}

find("side").addEventListener("change", (event) => { bench.plan.seenFrom(event.target.value); bench.hand.tell(); });
find("colour").addEventListener("change", (event) => colourBy(event.target.value));
find("other-plate").addEventListener("click", toStart);
addEventListener("hashchange", async () => {
  if (await takeKey()) await goOn();
  else if (bench.picture && wantedTask() !== shownTask) showTask();
});
takeDecimalCommas();
await takeKey();
await first();
lookAgain();
