// The colours of a map as an image, finer than its grid.

/** Paint values on a grid, all of them or the rectangle `part` of the grid that changed, in the colours of `bands`; returns how fine. */
export function paintRaster(raster, grid, values, bands, fine, part) {
  const high = (grid.rows - 1) * fine + 1, wide = (grid.columns - 1) * fine + 1;
  const context = raster.getContext("2d");
  const whole = !part || raster.width !== wide || raster.height !== high;
  if (raster.width !== wide || raster.height !== high) { raster.width = wide; raster.height = high; }
  const r0 = whole ? 0 : Math.max(part.row - 1, 0), c0 = whole ? 0 : Math.max(part.column - 1, 0);
  const r1 = whole ? grid.rows - 1 : Math.min(part.row + part.rows, grid.rows - 1);
  const c1 = whole ? grid.columns - 1 : Math.min(part.column + part.columns, grid.columns - 1);
  const w = (c1 - c0) * fine + 1, h = (r1 - r0) * fine + 1;
  const image = context.createImageData(w, h), pixels = image.data;
  for (let p = 0; p < h; p++) {
    const r = Math.min(r0 + Math.floor(p / fine), grid.rows - 2), u = r0 + p / fine - r;
    for (let q = 0; q < w; q++) {
      const c = Math.min(c0 + Math.floor(q / fine), grid.columns - 2), v = c0 + q / fine - c;
      const i = r * grid.columns + c;
      let value = (1 - u) * ((1 - v) * values[i] + v * values[i + 1]) + u * ((1 - v) * values[i + grid.columns] + v * values[i + grid.columns + 1]);
      if (value !== value) value = values[i + (v > 0.5 ? 1 : 0) + (u > 0.5 ? grid.columns : 0)];
      if (value !== value) continue;
      const colour = bands.table[bands.of(value)], k = 4 * (p * w + q);
      pixels[k] = colour[0]; pixels[k + 1] = colour[1]; pixels[k + 2] = colour[2]; pixels[k + 3] = 255;
    }
  }
  context.putImageData(image, c0 * fine, r0 * fine);
}
