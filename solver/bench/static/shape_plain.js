// The moving shape as a plain drawing, for browsers without WebGL 2: triangles from the farthest to the nearest.

const PALE = [250, 247, 242], BLUE = [33, 102, 172], ORANGE = [224, 130, 20], LINE = "#3a3937";

export function plainPainter(canvas, body) {
  const context = canvas.getContext("2d");
  const count = body.triangles.length / 3;
  const order = Array.from({ length: count }, (_, i) => i);
  const seen = new Float32Array(body.points.length), far = new Float32Array(count);
  return {
    name: "plain",
    draw(rows, k, swing) {
      const { points, triangles } = body, motion = body.motion[k], outward = body.outward[k];

      /** Draw the line on which nothing moves across a triangle, from side to side. */
      function still(corners) {
        const ends = [[0, 1], [1, 2], [2, 0]].map(([i, j]) => [corners[i], corners[j]]).filter(([a, b]) => (outward[a] > 0) !== (outward[b] > 0));
        if (ends.length !== 2) return;
        context.strokeStyle = LINE;
        context.lineWidth = canvas.height / 130;
        context.beginPath();
        for (const [a, b] of ends) {
          const share = outward[a] / (outward[a] - outward[b]);
          context.lineTo(...[0, 1].map((j) => seen[3 * a + j] + share * (seen[3 * b + j] - seen[3 * a + j])));
        }
        context.stroke();
        context.lineWidth = 0.8;
      }

      for (let i = 0; i < points.length; i += 3) {
        const place = [0, 1, 2].map((j) => points[i + j] + swing * motion[i + j]);
        rows.forEach((row, j) => { seen[i + j] = row[0] * place[0] + row[1] * place[1] + row[2] * place[2] + row[3]; });
        seen[i] = (0.5 + 0.5 * seen[i]) * canvas.width;
        seen[i + 1] = (0.5 - 0.5 * seen[i + 1]) * canvas.height;
      }
      for (let t = 0; t < count; t++) far[t] = seen[3 * triangles[3 * t] + 2] + seen[3 * triangles[3 * t + 1] + 2] + seen[3 * triangles[3 * t + 2] + 2];
      order.sort((a, b) => far[b] - far[a]);
      context.clearRect(0, 0, canvas.width, canvas.height);
      context.lineWidth = 0.8;
      for (const t of order) {
        const corners = [0, 1, 2].map((j) => triangles[3 * t + j]);
        const mean = corners.reduce((sum, n) => sum + outward[n], 0) / 3;
        const share = Math.abs(mean) ** 0.8, end = mean > 0 ? BLUE : ORANGE;
        const colour = `rgb(${PALE.map((value, j) => Math.round(value + share * (end[j] - value))).join(",")})`;
        context.fillStyle = context.strokeStyle = colour;
        context.beginPath();
        corners.forEach((n, j) => (j ? context.lineTo(seen[3 * n], seen[3 * n + 1]) : context.moveTo(seen[3 * n], seen[3 * n + 1])));
        context.closePath();
        context.fill();
        context.stroke();
        still(corners);
      }
    },
  };
}
