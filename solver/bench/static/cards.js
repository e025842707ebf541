// The pictures on the cards of the first page: each plate as its files say, outline, holes and thickness.

import { get, Refusal } from "./api.js";
import { paintRaster } from "./raster.js";
import { thicknessBands } from "./scales.js";

const RIM = 3, FINE = 3;

/** Draw the cards of a page one after the other; one that cannot be drawn is left without a picture, for the plate tells why when it is opened. */
export async function drawCards(page) {
  for (const canvas of page.querySelectorAll("canvas[data-card]")) {
    if (!canvas.isConnected) return; // the page has gone on
    try {
      draw(canvas, await get(canvas.dataset.card));
    } catch (refusal) {
      if (!(refusal instanceof Refusal)) throw refusal;
    }
  }
}

function draw(canvas, picture) {
  const ratio = Math.min(window.devicePixelRatio || 1, 3), box = canvas.getBoundingClientRect(), { grid } = picture;
  if (box.width === 0) return;
  canvas.width = Math.round(box.width * ratio);
  canvas.height = Math.round(box.height * ratio);
  const [xmin, ymin, xmax, ymax] = picture.bounds_mm, rim = RIM * ratio;
  const scale = Math.min((canvas.width - 2 * rim) / (ymax - ymin), (canvas.height - 2 * rim) / (xmax - xmin));
  const across = (y) => 0.5 * canvas.width + (y - 0.5 * (ymin + ymax)) * scale, down = (x) => 0.5 * canvas.height - (x - 0.5 * (xmin + xmax)) * scale;
  const edges = new Path2D();
  for (const ring of [picture.edge_mm, ...picture.holes_mm]) {
    ring.forEach(([x, y], i) => (i ? edges.lineTo(across(y), down(x)) : edges.moveTo(across(y), down(x))));
    edges.closePath();
  }
  const values = Float32Array.from(grid.thickness_um, (um) => (um < 0 ? NaN : um / 1000)), raster = document.createElement("canvas");
  paintRaster(raster, grid, values, thicknessBands(picture, values), FINE, null);
  const context = canvas.getContext("2d"), step = scale * grid.step_mm / FINE;
  context.save();
  context.clip(edges, "evenodd");
  context.setTransform(step, 0, 0, -step, across(grid.y0_mm), down(grid.x0_mm));
  context.drawImage(raster, -0.5, -0.5);
  context.restore();
  context.lineWidth = 1.2 * ratio;
  context.strokeStyle = getComputedStyle(canvas).color;
  context.stroke(edges);
  canvas.dataset.drawn = "";
}
