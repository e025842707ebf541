"""Where on a photo the plate lies, roughly: its rim laid over the edges in every place, turn and size."""

from collections.abc import Iterator

import numpy as np
from scipy.optimize import least_squares

from solver.arrays import Floats, Ints
from solver.measured.camera import FREEDOMS, Camera, square_on
from solver.measured.photo_edges import EdgeDistances, direction_of
from solver.measured.plate_form import PlateForm

_RIM = 90
_TURNS = 40
_SIZES = np.geomspace(0.28, 1.0, 14)
"""Length of the plate on the photo over the photo's longer side."""
_STEP = 0.035
"""Step of the places tried, as a share of the photo's longer side."""
_SHARP = 0.016
"""How near a rim point must come to an edge to count, the same way."""
_TRIED = 24
_KEPT = 7

_SMALL_STEPS = np.full(FREEDOMS, 1e-4)

_LARGER = 0.35
"""Power of its size by which a larger plate on the photo is preferred: what fits inside a plate are its own lines."""

PRIOR = np.array([np.inf, np.inf, np.inf, np.inf, np.inf, np.inf, 0.25, 0.04, 0.04])
"""How far each freedom of a camera may be off what is usual: focal length by a quarter, the axis by 4 % of it."""


def likely_cameras(edges: EdgeDistances, form: PlateForm, both_sides: bool, focal: float) -> list[Camera]:
    """Return the cameras from which the rim falls best on the edges of a small photo, the best first.

    ``both_sides`` tries the plate turned over as well, which an even outline need not; ``focal`` [pixels] is about right.
    """
    rim, outward = form.rim(_RIM, False)
    starts = sorted(
        _square_starts(edges, form, both_sides, focal), key=lambda start: -start[0] * _bias(start[1])
    )
    tried = _different([camera for _, camera in starts], rim, _TRIED, 0.05 * form.length)
    fits = sorted(
        (_settled(camera, edges, rim, outward) for camera in tried), key=lambda fit: fit[0] / _bias(fit[1])
    )
    return _different([camera for _, camera in fits], rim, _KEPT, 0.02 * form.length)


def _square_starts(
    edges: EdgeDistances, form: PlateForm, both_sides: bool, focal: float
) -> Iterator[tuple[float, Camera]]:
    """Yield for every turn, size and side the best places, seen straight from above: how well the rim falls on edges."""
    _, height, width = edges.distance.shape
    long_side = max(height, width)
    near = np.exp(-0.5 * (edges.distance / (_SHARP * long_side)) ** 2).astype(np.float32)
    near -= near.mean(axis=(1, 2), keepdims=True)
    rim, outward = form.rim(_RIM, False)
    middle_mm = 0.5 * (rim.min(axis=0) + rim.max(axis=0))
    step = _STEP * long_side
    places = np.stack(
        np.meshgrid(np.arange(step, width, step), np.arange(step, height, step)), axis=-1
    ).reshape(-1, 2)
    centre = 0.5 * np.array([width - 1, height - 1])
    for inside in (False, True) if both_sides else (False,):
        for angle in 2 * np.pi * np.arange(_TURNS) / _TURNS:
            camera = square_on(np.zeros(2), float(angle), 1.0, inside, focal, centre)
            flat, across = (rim - middle_mm) @ camera.turn.T[:, :2], outward @ camera.turn.T[:, :2]
            kinds = direction_of(across)
            for size in _SIZES * long_side / form.length:
                score = _scores(near, places, size * flat, kinds)
                for best in np.argsort(-score)[:2]:
                    origin = places[best] - size * middle_mm @ camera.turn.T[:, :2]
                    yield (
                        float(score[best]),
                        square_on(origin, float(angle), float(size), inside, focal, centre),
                    )


def _scores(near: Floats, places: Floats, flat: Floats, kinds: Ints) -> Floats:
    """Return how well a rim falls on edges with its middle at each of the ``places``."""
    _, height, width = near.shape
    columns = np.rint(places[:, :1] + flat[:, 0]).astype(np.int64)
    rows = np.rint(places[:, 1:] + flat[:, 1]).astype(np.int64)
    inside = (columns >= 0) & (columns < width) & (rows >= 0) & (rows < height)
    taken = near.ravel().take(
        (kinds * height + np.clip(rows, 0, height - 1)) * width + np.clip(columns, 0, width - 1)
    )
    return np.asarray(np.where(inside, taken, -0.1).mean(axis=1))


def _settled(camera: Camera, edges: EdgeDistances, rim: Floats, outward: Floats) -> tuple[float, Camera]:
    """Let a camera move until the rim lies on the edges as well as it can; return what is left, and the camera."""

    def misses(step: Floats) -> Floats:
        moved = camera.moved(step)
        pixels = moved.pixels(rim)
        return edges.at(pixels, moved.pixels(rim + 1e-3 * outward) - pixels)

    def residuals(step: Floats) -> Floats:
        return np.concatenate([misses(step), 3.0 * (step / PRIOR)[6:]])

    fit = least_squares(
        residuals, np.zeros(FREEDOMS), loss="cauchy", f_scale=1.5, diff_step=_SMALL_STEPS, max_nfev=14
    )
    return float(np.minimum(misses(fit.x), 6.0).mean()), camera.moved(fit.x)


def _bias(camera: Camera) -> float:
    return float((camera.focal / camera.shift[2]) ** _LARGER)


def _different(cameras: list[Camera], rim: Floats, count: int, least: float) -> list[Camera]:
    """Return the first ``count`` cameras that see the rim in different places, ``least`` [m] apart on the plate or more."""
    kept: list[Camera] = []
    seen: list[Floats] = []
    for camera in cameras:
        pixels = camera.pixels(rim[::4])
        apart = least * camera.focal / float(camera.shift[2])
        if all(np.linalg.norm(pixels - other, axis=1).mean() > apart for other in seen):
            kept.append(camera)
            seen.append(pixels)
        if len(kept) == count:
            break
    return kept
