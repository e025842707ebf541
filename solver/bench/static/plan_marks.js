// What tasks draw over the plate: lines and marks, legible on any colour.

const INK = "#1d1a17", PAPER = "#fffdf7";

/** Draw lines of the plate with a pale rim, legible on any colour, and the numbers of the map over them. */
export function drawLines(context, plan, lines, { colour = INK, dash = [], width = 2.6 } = {}) {
  context.lineCap = "round";
  context.lineJoin = "round";
  for (const points of lines) {
    const path = plan.line(points);
    context.setLineDash([]);
    context.strokeStyle = "rgba(255,253,247,.8)";
    context.lineWidth = width + 2.4;
    context.stroke(path);
    context.setLineDash(dash);
    context.strokeStyle = colour;
    context.lineWidth = width;
    context.stroke(path);
  }
  context.setLineDash([]);
  plan.numbers.draw(context);
}

/** Mark a place by a ring or a cross with a word beside it. */
export function drawMark(context, plan, [x, y], word, kind) {
  const [h, v] = plan.toScreen(x, y);
  for (const [style, width] of [[PAPER, 5], [INK, 2]]) {
    context.strokeStyle = style;
    context.lineWidth = width;
    context.beginPath();
    if (kind === "ring") context.arc(h, v, 7, 0, 7);
    else { context.moveTo(h - 7, v - 7); context.lineTo(h + 7, v + 7); context.moveTo(h - 7, v + 7); context.lineTo(h + 7, v - 7); }
    context.stroke();
  }
  context.font = "bold 12px 'DejaVu Sans', 'Segoe UI', sans-serif";
  context.textAlign = "left";
  context.textBaseline = "middle";
  context.lineWidth = 4;
  context.lineJoin = "round";
  context.strokeStyle = PAPER;
  context.strokeText(word, h + 11, v);
  context.fillStyle = INK;
  context.fillText(word, h + 11, v);
}
