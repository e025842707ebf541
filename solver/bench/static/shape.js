// The plate in three dimensions, moving as it does in a tone. WebGL 2 where there is one, else a plain drawing.

import { get } from "./api.js";
import { button, el } from "./elements.js";
import { glPainter } from "./shape_gl.js";
import { plainPainter } from "./shape_plain.js";

const SWINGS_PER_SECOND = 0.8, TURN = 0.12, HEIGHT = 0.1;
/** Least time between two pictures: smooth to the eye, and the scraper goes first. */
const BETWEEN_MS = 32;
const HELD_MS = 150;
/** Share of the picture that the plate fills. */
const ROOM = 0.86;
const cache = { plate: null, mark: null, body: null };

/** Return the view: `box` to put on the page, `choose(k)` a tone, `leave()` at the end. */
export function shapeView(bench) {
  const canvas = el("canvas", { tabindex: "0", role: "application", "aria-roledescription": "plate in three dimensions", "aria-label": "Moving shape of the tone; arrow keys turn it, the space bar stops and starts it" });
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  const pause = button("", () => setMoving(!state.moving), { class: "pause" });
  const swing = el("input", { type: "range", min: "-100", max: "100", value: "100", "aria-label": "How far it is swung", input: () => { setMoving(false); state.swing = Number(swing.value) / 100; draw(); } });
  const words = el("span", { class: "quiet" }), seen = el("p", { class: "quiet" });
  const box = el("div", { class: "shape" }, canvas, el("div", { class: "buttons" }, pause, el("label", { class: "field" }, "Swing", swing), words),
    seen);
  const state = { moving: false, swing: 1, around: 0, over: 1.05, k: bench.chosen, frame: 0, begun: 0, drawn: 0, heldUntil: 0 };
  const left = new AbortController(), untilLeft = { signal: left.signal };
  let painter = null, body = null;

  const sized = new ResizeObserver(draw);
  sized.observe(canvas);
  still.addEventListener("change", () => setMoving(!still.matches), untilLeft);
  canvas.addEventListener("keydown", key);
  canvas.addEventListener("pointerdown", drag);
  canvas.addEventListener("webglcontextlost", (event) => { event.preventDefault(); painter = null; delete canvas.dataset.painter; }); // as when a laptop has slept
  canvas.addEventListener("webglcontextrestored", () => { paint(); draw(); });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw, untilLeft);
  setMoving(!still.matches);
  bench.plan.onView(turnOver);
  turnOver();
  fetchBody(bench).then((found) => {
    if (left.signal.aborted) return;
    body = found;
    paint();
    draw();
  });

  function setMoving(moving) {
    state.moving = moving;
    pause.textContent = moving ? "Stop" : "Move";
    cancelAnimationFrame(state.frame);
    if (moving) {
      state.begun = performance.now() - (Math.asin(state.swing) / (2 * Math.PI * SWINGS_PER_SECOND)) * 1000;
      state.frame = requestAnimationFrame(tick);
    }
  }

  function tick(now) {
    if (left.signal.aborted || !state.moving) return;
    state.frame = requestAnimationFrame(tick);
    if (now - state.drawn < BETWEEN_MS || now < state.heldUntil) return;
    state.drawn = now;
    state.swing = Math.sin(2 * Math.PI * SWINGS_PER_SECOND * (now - state.begun) / 1000);
    draw();
  }

  /** Show the side that the plan shows, so that left and right are the same in both. */
  function turnOver() {
    seen.textContent = `Seen from the ${bench.plan.side}, as the plan; motion much enlarged. Blue moves out${bench.plan.side === "inside" ? ", away from you" : ""}, orange in, pale stands still. Drag it, or use the arrow keys, to turn it.`;
    draw();
  }

  function paint() {
    painter = glPainter(canvas, body) ?? plainPainter(canvas, body);
    canvas.dataset.painter = painter.name;
  }

  function draw() {
    if (!painter || left.signal.aborted) return;
    const ratio = Math.min(window.devicePixelRatio || 1, 2);
    const wide = Math.round(canvas.clientWidth * ratio), high = Math.round(canvas.clientHeight * ratio);
    if (wide === 0) return;
    if (canvas.width !== wide || canvas.height !== high) { canvas.width = wide; canvas.height = high; }
    painter.draw(view(body, state, bench.plan.side, wide / high), state.k, state.swing * HEIGHT * body.length);
  }

  function key(event) {
    const turns = { ArrowLeft: [-TURN, 0], ArrowRight: [TURN, 0], ArrowUp: [0, -TURN], ArrowDown: [0, TURN] };
    if (event.key in turns) turn(...turns[event.key]);
    else if (event.key === " ") setMoving(!state.moving);
    else return;
    event.preventDefault();
  }

  function turn(around, over) {
    state.around += around;
    state.over = Math.min(Math.max(state.over + over, -1.5), 1.5);
    draw();
  }

  function drag(down) {
    canvas.setPointerCapture(down.pointerId);
    let from = [down.clientX, down.clientY];
    const ended = new AbortController();
    const move = (event) => {
      turn((event.clientX - from[0]) / 120, (event.clientY - from[1]) / 120);
      from = [event.clientX, event.clientY];
    };
    canvas.addEventListener("pointermove", move, { signal: ended.signal });
    for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, () => ended.abort(), { signal: ended.signal });
  }

  return {
    box,
    choose(k) {
      state.k = k;
      const tone = bench.tones.modes[k];
      words.textContent = `${bench.tones.called[k]}, ${tone.hz.toFixed(1)} Hz`;
      draw();
    },
    /** Hold still for a moment: the scraper and the figures go first. */
    hold() {
      state.heldUntil = performance.now() + HELD_MS;
    },
    leave() {
      left.abort();
      cancelAnimationFrame(state.frame);
      sized.disconnect();
      bench.plan.offView(turnOver);
      painter?.leave?.();
    },
  };
}

async function fetchBody(bench) {
  const { plate, mark } = bench.picture;
  if (cache.plate !== plate || cache.mark !== mark) {
    const told = await get(bench.path("/shapes"));
    const points = numbers(told.at_rest_mm), size = extent(points);
    Object.assign(cache, { plate, mark, body: {
      points, normals: numbers(told.normals), triangles: new Uint32Array(bytes(told.triangles).buffer),
      motion: told.motion.map(numbers), outward: told.outward.map(numbers), ...size,
    } });
  }
  return cache.body;
}

function bytes(text) {
  return Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
}

function numbers(text) {
  return new Float32Array(bytes(text).buffer);
}

function extent(points) {
  const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  points.forEach((value, i) => { low[i % 3] = Math.min(low[i % 3], value); high[i % 3] = Math.max(high[i % 3], value); });
  return { middle: low.map((value, i) => 0.5 * (value + high[i])), halves: low.map((value, i) => 0.5 * (high[i] - value)), length: Math.max(high[0] - low[0], high[1] - low[1]) };
}

/** The 3 x 4 rows that carry plate coordinates [mm] to the picture: across -1..1, up -1..1, depth -1..1, away from the eye. */
function view(body, { around, over }, side, aspect) {
  const [ca, sa, co, so] = [Math.cos(around), Math.sin(around), Math.cos(over), Math.sin(over)];
  // the long side upright and the nearer side in front, as in the plan; then turned in its plane, then tipped away
  const rows = [[ca, -sa, 0], [sa * so, ca * so, co], [sa * co, ca * co, -so]]
    .map(([right, up, out]) => (side === "outside" ? [up, -right, out] : [up, right, -out]));
  // as large as its ellipse fits however it is turned, with room for its swing; pixels are square
  const [l, w, h] = body.halves, rise = Math.abs(co) * (h + HEIGHT * body.length);
  const up = ROOM / Math.max(Math.hypot(ca * so * l, sa * so * w) + rise, Math.hypot(ca * w, sa * l) / aspect);
  const fit = [up / aspect, up, 0.5 / body.length];
  return rows.map((row, i) => {
    const scaled = row.map((value) => value * fit[i]);
    return [...scaled, -scaled.reduce((sum, value, k) => sum + value * body.middle[k], 0)];
  });
}
