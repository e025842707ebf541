// Building the page without markup in strings.

/** Return an element: `el("p", { class: "quiet" }, "words", child)`; functions are listeners. */
export function el(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === false || value === null || value === undefined) continue;
    if (typeof value === "function") made.addEventListener(key, value);
    else if (value === true) made.setAttribute(key, "");
    else made.setAttribute(key, value);
  }
  made.append(...children.filter((child) => child !== null && child !== undefined));
  return made;
}

/** Return a part of a drawing: `svg("circle", { r: 3 }, child)`. */
export function svg(name, attributes = {}, ...children) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

export function button(words, act, attributes = {}) {
  return el("button", { type: "button", click: act, ...attributes }, words);
}

/** Say what was done, where it was done, and bring it into sight once it stands on the page. */
export function doneNote(...said) {
  const note = el("p", { class: "done", role: "status", tabindex: "-1" }, ...said);
  requestAnimationFrame(() => note.focus());
  return note;
}

/** Return a number with its sign, a true minus in front of what is below nought. */
export function signed(value, digits) {
  const text = Math.abs(value).toFixed(digits);
  if (Number(text) === 0) return text;
  return (value < 0 ? "\u2212" : "+") + text;
}

/** What a tone is called: by the trade's number or, where it has none, by its place from the lowest. */
export function called({ mode, order }) {
  if (mode) return `mode ${mode}`;
  const last = { 1: "st", 2: "nd", 3: "rd" }[order % 10] ?? "th";
  return `${order}${order % 100 >= 10 && order % 100 <= 20 ? "th" : last} tone`;
}

export function noteWords(tone) {
  return `${tone.note} ${signed(tone.cents, 0)}`;
}
