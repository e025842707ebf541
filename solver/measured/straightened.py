"""The plate taken off a photo and laid flat: seen squarely, in millimetres of the plan, wherever the camera stood."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import distance_transform_edt, gaussian_filter, map_coordinates

from solver.core.arrays import Bools, Floats
from solver.core.units import MM
from solver.measured.camera import Camera
from solver.measured.plate_form import PlateForm

_STEPS = 450
_STEP = (0.4 * MM, 0.9 * MM)
_HEIGHTS_EVERY = 6


@dataclass(frozen=True, eq=False)
class Straightened:
    """Colours (r, c, 3), 0 to 1, of the plate on a grid over its plan; ``x`` (r,) and ``y`` (c,) [m].

    ``depth`` (r, c) [m] is how far inside the wood a place lies: from the edge and from the holes, nought elsewhere.
    """

    x: Floats
    y: Floats
    colours: Floats
    depth: Floats

    @property
    def step(self) -> float:
        """Distance [m] of the grid points."""
        return float(self.x[1] - self.x[0])

    def places(self, cells: Floats) -> Floats:
        """Return the plan points (n, 2) [m] of places (n, 2) counted in rows and columns."""
        return np.asarray([self.x[0], self.y[0]] + self.step * cells)


def straighten(photo: Floats, camera: Camera, form: PlateForm) -> Straightened:
    """Return the plate as the photo (h, w, 3) shows it.

    Every place of the plan is looked up where the camera saw it on the side that faces it, with its height, so that
    neither a tilt nor the arch shifts it; what lies off the photo is grey.
    """
    low_x, low_y, high_x, high_y = form.outline.bounds
    step = float(np.clip(form.length / _STEPS, *_STEP))
    x, y = (
        np.arange(low_x - 2 * step, high_x + 3 * step, step),
        np.arange(low_y - 2 * step, high_y + 3 * step, step),
    )
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    pixels = camera.pixels(np.column_stack([grid, _heights(x, y, form, camera.sees_inside).ravel()]))
    colours = _colours(photo, pixels, step * camera.focal / float(camera.shift[2]))
    wood = _on_wood(grid, form).reshape(len(x), len(y))
    shown = (pixels > 0).all(axis=1) & (pixels < [photo.shape[1] - 1, photo.shape[0] - 1]).all(axis=1)
    depth = step * distance_transform_edt(np.pad(wood & shown.reshape(wood.shape), 1))[1:-1, 1:-1]
    return Straightened(x, y, colours.reshape(len(x), len(y), 3), depth)


def _colours(photo: Floats, pixels: Floats, step: float) -> Floats:
    """Return the colours (n, 3) at places (n, 2) ``step`` pixels apart, as coarse as those, so that no grain is lost."""
    width = 0.35 * step
    size = np.array(photo.shape[1::-1])
    low = np.clip(pixels.min(axis=0) - 4 * width - 1, 0, size - 1).astype(np.int64)
    high = np.clip(pixels.max(axis=0) + 4 * width + 2, low + 1, size).astype(np.int64)
    window = gaussian_filter(photo[low[1] : high[1], low[0] : high[0]], (width, width, 0))
    columns, rows = (pixels - low).T
    found = [
        map_coordinates(window[..., c], [rows, columns], order=1, mode="constant", cval=0.5) for c in range(3)
    ]
    return np.stack(found, axis=-1)


def _heights(x: Floats, y: Floats, form: PlateForm, inside: bool) -> Floats:
    """Return the heights (r, c) [m] of the side that is seen, between places a few steps apart."""
    coarse_x, coarse_y = (_every(values) for values in (x, y))
    plan = np.stack(np.meshgrid(coarse_x, coarse_y, indexing="ij"), axis=-1).reshape(-1, 2)
    height = form.side(plan, inside)[:, 2].reshape(len(coarse_x), len(coarse_y))
    rows, columns = np.meshgrid(
        np.arange(len(x)) / _HEIGHTS_EVERY, np.arange(len(y)) / _HEIGHTS_EVERY, indexing="ij"
    )
    return np.asarray(map_coordinates(height, [rows, columns], order=1, mode="nearest"))


def _every(values: Floats) -> Floats:
    """Every sixth of evenly spaced values, and one beyond."""
    step = _HEIGHTS_EVERY * (values[1] - values[0])
    return np.asarray(values[0] + step * np.arange(-(-len(values) // _HEIGHTS_EVERY) + 1))


def _on_wood(grid: Floats, form: PlateForm) -> Bools:
    return form.outline.contains(grid)
