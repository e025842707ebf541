// The page's only way to the server: every question bears the key of this start, every refusal comes as one sentence.

const STORE = "platewright-bench-key";
const RETRY_MS = 1000;
const listeners = new Set();

/** One sentence for the maker; `status` tells whether something was changed elsewhere (409) or cannot be done (400). */
export class Refusal extends Error {
  constructor(sentence, status) {
    super(sentence);
    this.status = status;
  }
}

/** Do something, and let a place on the page say in one sentence why it was refused; a fault of the page itself is thrown on. */
export async function orSay(place, act) {
  place.textContent = "";
  try {
    await act();
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    place.textContent = refusal.message;
  }
}

/** Exchange the ticket in the address, which opens the bench once, for the key, and keep that for this address only. Returns whether the page has got one. */
export async function takeKey() {
  const found = /^#start=([\w-]+)$/.exec(location.hash);
  if (!found) return false;
  history.replaceState(null, "", location.pathname); // so that it stands in no history
  try {
    localStorage.setItem(STORE, (await post("/api/key", { ticket: found[1] })).key);
    return true;
  } catch (refused) {
    if (!(refused instanceof Refusal)) throw refused;
    if (refused.status === 400 && !await unlocked()) tell("locked", refused.message);
    return false;
  }
}

/** Be told when the server goes ("gone"), comes back ("back"), or wants a key that this page lacks ("locked", and why if that is known). */
export function onConnection(listener) {
  listeners.add(listener);
}

function tell(state, why) {
  for (const listener of listeners) listener(state, why);
}

export async function get(path) {
  return ask("GET", path);
}

export async function post(path, body) {
  return ask("POST", path, body);
}

export async function stop(path) {
  return ask("DELETE", path);
}

/** Fetch a file, which a plain link could not, because links bear no key. */
export async function file(path) {
  const answer = await send("GET", path);
  if (!answer.ok) throw await refusal(answer);
  return answer.blob();
}

/** Bring a recording or photo to the plate; returns the key by which the server knows it. */
export async function bring(path, content, name) {
  const answer = await send("POST", `${path}?name=${encodeURIComponent(name)}`, content);
  if (!answer.ok) throw await refusal(answer);
  return (await answer.json()).key;
}

async function ask(method, path, body) {
  const answer = await send(method, path, body);
  if (!answer.ok) throw await refusal(answer);
  return answer.json();
}

async function send(method, path, body) {
  const headers = { "x-bench-key": localStorage.getItem(STORE) ?? "" };
  const raw = body instanceof Blob;
  if (body !== undefined) headers["content-type"] = raw ? "application/octet-stream" : "application/json";
  try {
    return await fetch(path, { method, headers, body: body === undefined || raw ? body : JSON.stringify(body) });
  } catch {
    lost();
    throw new Refusal("The bench does not answer.", 0);
  }
}

async function refusal(answer) {
  if (answer.status === 401) tell("locked");
  let sentence = "Something went wrong in the program itself; the terminal of the bench shows what.";
  try {
    sentence = (await answer.json()).sentence ?? sentence;
  } catch { /* no sentence came along: the general one stands */ }
  return new Refusal(sentence, answer.status);
}

let waiting = false;

/** Wait for the server to come back; a new start has a new key, which the window that it opened leaves for us. */
async function lost() {
  if (waiting) return;
  waiting = true;
  tell("gone");
  for (;;) {
    await new Promise((done) => setTimeout(done, RETRY_MS));
    if (!await alive()) continue;
    if (await unlocked()) break;
    tell("locked");
  }
  waiting = false;
  tell("back");
}

async function alive() {
  try {
    return (await fetch("/api/alive")).ok;
  } catch {
    return false;
  }
}

async function unlocked() {
  try {
    const answer = await fetch("/api/start", { headers: { "x-bench-key": localStorage.getItem(STORE) ?? "" } });
    return answer.ok;
  } catch {
    return false;
  }
}

/** Where there was no key, wait until another window of this address gets one. */
export function onKey(listener) {
  addEventListener("storage", (event) => { if (event.key === STORE && !waiting) listener(); });
}
