// The hand on the plate: pointer and keys alike move a mark, and a task's tool works where it is.

import { svg } from "./elements.js";

const SMALL_MM = 2, LARGE_MM = 10;
/** Where a finger also moves the page, it lies still so long [ms], within so much [px], before it scrapes. */
const HOLD_MS = 250, STRAY_PX = 8;
const STEPS = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };

export class Hand {
  constructor(plan, here) {
    this.plan = plan;
    this.here = here;
    this.tool = null;
    this.path = null;
    this.pointer = null; // of which the stroke is
    this.resting = null; // a finger that lies on the plate and may scrape in a moment
    this.outline = ringAndCross();
    this.sign = svg("g", { hidden: "" }, ...this.outline.parts);
    const ink = plan.ink;
    ink.after(svg("svg", { id: "hand", "aria-hidden": "true" }, this.sign));
    plan.onView(() => this.draw());
    ink.addEventListener("pointermove", (event) => this.move(event));
    ink.addEventListener("pointerdown", (event) => this.down(event));
    ink.addEventListener("pointerup", (event) => this.up(event));
    ink.addEventListener("pointercancel", () => this.cancel()); // the browser took the fingers, to move the page
    ink.addEventListener("touchmove", (event) => { if (this.path) event.preventDefault(); }, { passive: false });
    ink.addEventListener("contextmenu", (event) => { if (this.path || this.resting) event.preventDefault(); }); // a long touch asks for it
    addEventListener("keydown", (event) => { if (event.key === "Escape" && this.path) this.cancel(); });
    ink.addEventListener("pointerleave", () => { this.hover = null; this.draw(); });
    ink.addEventListener("keydown", (event) => this.key(event));
    ink.addEventListener("focus", () => { this.byKeys = ink.matches(":focus-visible"); this.tell(); this.draw(); });
    ink.addEventListener("blur", () => { this.byKeys = false; this.draw(); });
  }

  /** Put a tool in the hand: `{ width(), down(points), move(points), up(points), cancel(), cut(place, from) }`, or none. */
  take(tool) {
    this.forget();
    this.tool = tool;
    this.plan.ink.classList.toggle("scraper", tool !== null);
    this.draw();
  }

  places(event) {
    const box = this.plan.ink.getBoundingClientRect();
    const events = event.getCoalescedEvents?.() ?? [];
    return (events.length ? events : [event]).map((one) => this.plan.toPlate(one.clientX - box.left, one.clientY - box.top).map(tenth));
  }

  move(event) {
    if (!this.plan.picture || !event.isPrimary || (this.path && event.pointerId !== this.pointer)) return;
    if (this.resting && Math.hypot(event.clientX - this.resting.from[0], event.clientY - this.resting.from[1]) > STRAY_PX) this.forget();
    const places = this.places(event);
    this.byKeys = false;
    this.hover = places[places.length - 1];
    this.plan.mark = this.hover;
    this.say(...this.hover);
    if (this.path) {
      for (const place of places) this.add(place);
      this.tool.move(this.path);
    }
    this.draw();
  }

  /** One pointer scrapes; a second finger takes back what the first began, for two move the page. */
  down(event) {
    if (!event.isPrimary || this.path || this.resting) return this.cancel();
    if (!this.tool || event.button !== 0 || !this.plan.picture) return;
    const [place] = this.places(event);
    if (!this.plan.inside(...place)) return;
    const begin = () => this.begin(event.pointerId, place);
    if (event.pointerType === "touch" && this.rests) this.resting = { timer: setTimeout(begin, HOLD_MS), from: [event.clientX, event.clientY] };
    else begin();
  }

  /** Whether a finger rests first, because one that is drawn over the plate moves the page, as the style says. */
  get rests() {
    return matchMedia("(pointer: coarse)").matches && getComputedStyle(this.plan.ink).touchAction.includes("pan");
  }

  begin(pointer, place) {
    this.forget();
    this.plan.ink.setPointerCapture(pointer);
    this.pointer = pointer;
    this.path = [place];
    this.hover = place;
    this.tool.down(this.path);
    this.draw();
  }

  up(event) {
    const path = event.pointerId === this.pointer ? this.path : null;
    if (!path && this.path) return;
    this.forget();
    if (path) this.tool.up(path);
  }

  /** Take back the stroke that is being made: nothing of it is kept. */
  cancel() {
    const begun = this.path !== null;
    this.forget();
    if (begun) this.tool.cancel();
  }

  forget() {
    clearTimeout(this.resting?.timer);
    this.path = this.pointer = this.resting = null;
  }

  /** Note a place of the path; the stroke runs straight between places, however far apart they were seen. */
  add(place) {
    const last = this.path[this.path.length - 1];
    if (Math.hypot(place[0] - last[0], place[1] - last[1]) >= 1) this.path.push(place);
  }

  key(event) {
    if (!this.plan.picture || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key in STEPS) {
      const [h, v] = STEPS[event.key], step = event.shiftKey ? LARGE_MM : SMALL_MM;
      const [x, y] = this.plan.mark;
      const across = this.plan.side === "inside" ? h : -h;
      const [xmin, ymin, xmax, ymax] = this.plan.picture.bounds_mm;
      this.plan.mark = [clamp(Math.round(x) + v * step, xmin, xmax), clamp(Math.round(y) + across * step, ymin, ymax)];
      this.byKeys = true;
      this.hover = null;
      this.tell();
    } else if ((event.key === "Enter" || event.key === " ") && this.tool) {
      if (!event.repeat) this.tool.cut([...this.plan.mark], event.shiftKey);
    } else return;
    event.preventDefault();
    this.draw();
  }

  tell() {
    if (this.plan.picture && this.plan.edges) this.say(...this.plan.mark);
  }

  say(x, y) {
    this.here.textContent = this.plan.words(x, y);
  }

  /** Show where the hand is: a mark of its own above the plate, so that the plate need not be drawn anew for it. */
  draw() {
    const place = this.byKeys ? this.plan.mark : this.tool ? this.hover : null;
    this.sign.toggleAttribute("hidden", !place || !this.plan.edges);
    if (!place || !this.plan.edges) return;
    const [h, v] = this.plan.toScreen(...place);
    const radius = this.tool ? Math.max(0.5 * this.tool.width() * this.plan.scale, 3) : 8;
    const cross = radius + 6;
    this.sign.setAttribute("transform", `translate(${h} ${v})`);
    this.outline.set(radius, this.byKeys ? `M${-cross} 0H${cross}M0 ${-cross}V${cross}` : "");
  }
}

/** A ring, and a cross in it, ink on a pale rim: seen on any colour. */
function ringAndCross() {
  const parts = ["rim", "line"].map((name) => [svg("circle", { class: name }), svg("path", { class: name })]);
  return {
    parts: parts.flat(),
    set(radius, cross) {
      for (const [ring, lines] of parts) {
        if (ring.getAttribute("r") !== String(radius)) ring.setAttribute("r", radius);
        if (lines.getAttribute("d") !== cross) lines.setAttribute("d", cross);
      }
    },
  };
}

function tenth(value) {
  return Math.round(value * 10) / 10;
}

function clamp(value, low, high) {
  return Math.min(Math.max(value, low), high);
}
