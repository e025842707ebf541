"""Where on a photo the plate lies, roughly: its rim laid over the edges in every place, turn and size."""

from collections.abc import Iterator

import numpy as np

from solver.core.arrays import Floats, Singles
from solver.measured.camera import Camera, square_on
from solver.measured.camera_fit import best_camera
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
_TRIED = 48
_KEPT = 7

_LARGER = 0.35
"""Power of its size by which a larger plate on the photo is preferred: what fits inside a plate are its own lines."""

_COARSE = 3
"""The places are looked up on every third pixel."""

_OFF_PHOTO = -0.1
_LOOSE = (5.0, 1.5)
"""How far [pixels] an edge may lie off before it counts little: first more, so that a start may be a little way off."""

_ROUNDS = 7


def likely_cameras(edges: EdgeDistances, form: PlateForm, both_sides: bool, focal: float) -> list[Camera]:
    """Return the cameras from which the rim falls best on the edges of a small photo, the best first.

    ``both_sides`` tries the plate turned over as well, which an even outline need not; ``focal`` [pixels] is about right.
    """
    rim, outward = form.rim(_RIM, False)
    starts = sorted(
        _square_starts(edges, form, both_sides, focal), key=lambda start: -start[0] * _bias(start[1])
    )
    tried = different([camera for _, camera in starts], form, _TRIED, 0.05)
    fits = sorted(
        (_settled(camera, edges, rim, outward) for camera in tried), key=lambda fit: fit[0] / _bias(fit[1])
    )
    return different([camera for _, camera in fits], form, _KEPT, 0.02)


def _square_starts(
    edges: EdgeDistances, form: PlateForm, both_sides: bool, focal: float
) -> Iterator[tuple[float, Camera]]:
    """Yield for every turn, size and side the best places, seen straight from above: how well the rim falls on edges."""
    _, height, width = edges.distance.shape
    long_side = max(height, width)
    rim, outward = form.rim(_RIM, False)
    middle = 0.5 * (rim.min(axis=0) + rim.max(axis=0))
    sizes = _SIZES * long_side / form.length
    near, spare = _nearness(edges, float(sizes[-1] * np.linalg.norm(rim - middle, axis=1).max()))
    across, down = near.shape[2], near.shape[1] * near.shape[2]
    step = _STEP * long_side
    places = np.stack(
        np.meshgrid(np.arange(step, width, step), np.arange(step, height, step)), axis=-1
    ).reshape(-1, 2)
    cells = np.rint(places / _COARSE).astype(np.int64) + spare
    centre = 0.5 * np.array([width - 1, height - 1])
    whole = np.pi if any(turn[2, 2] > 0 for turn, _ in form.look_alikes) else 2 * np.pi
    for inside in (False, True) if both_sides else (False,):
        for angle in whole * np.arange(_TURNS) / _TURNS:
            turn = square_on(np.zeros(2), float(angle), 1.0, inside, focal, centre).turn.T[:, :2]
            flat, kinds = (rim - middle) @ turn, direction_of(outward @ turn)
            for size in sizes:
                reach = np.rint(size / _COARSE * flat).astype(np.int64) @ [1, across] + kinds * down
                score = near.ravel().take((cells @ [1, across])[:, None] + reach).mean(axis=1)
                for best in np.argpartition(-score, 1)[:2]:
                    origin = places[best] - size * middle @ turn
                    yield (
                        float(score[best]),
                        square_on(origin, float(angle), float(size), inside, focal, centre),
                    )


def _nearness(edges: EdgeDistances, reach: float) -> tuple[Singles, int]:
    """Return how near edges of each direction are (8, r, c), on every third pixel, and how many cells lie round the photo.

    Those reach ``reach`` [pixels] beyond it, so that a rim about any place of the photo falls on some cell.
    """
    near = np.exp(-0.5 * (edges.distance / (_SHARP * max(edges.distance.shape[1:]))) ** 2).astype(np.float32)
    near -= near.mean(axis=(1, 2), keepdims=True)
    spare = int(reach / _COARSE) + 2
    return (
        np.pad(
            near[:, ::_COARSE, ::_COARSE],
            ((0, 0), (spare, spare), (spare, spare)),
            constant_values=_OFF_PHOTO,
        ),
        spare,
    )


def _settled(camera: Camera, edges: EdgeDistances, rim: Floats, outward: Floats) -> tuple[float, Camera]:
    """Let a camera move until the rim lies on the edges as well as it can; return what is left, and the camera."""

    def misses(moved: Camera) -> tuple[Floats, Floats]:
        pixels = moved.pixels(rim)
        missed, slope = edges.with_slope(pixels, moved.pixels(rim + 1e-3 * outward) - pixels)
        return missed, np.einsum("ni,nij->nj", slope, moved.rates(rim))

    for loose in _LOOSE:
        camera, _ = best_camera(camera, misses, hold=3.0, loose=loose, most=_ROUNDS)
    return float(np.minimum(misses(camera)[0], 6.0).mean()), camera


def _bias(camera: Camera) -> float:
    return float((camera.focal / camera.shift[2]) ** _LARGER)


def different(cameras: list[Camera], form: PlateForm, count: int, share: float) -> list[Camera]:
    """Return the first ``count`` cameras that see the rim in different places, apart by ``share`` of its length or more."""
    rim, _ = form.rim(_RIM // 4, False)
    kept: list[Camera] = []
    seen: list[Floats] = []
    for camera in cameras:
        pixels = camera.pixels(rim)
        apart = share * form.length * camera.focal / float(camera.shift[2])
        if all(np.linalg.norm(pixels - other, axis=1).mean() > apart for other in seen):
            kept.append(camera)
            seen.append(pixels)
        if len(kept) == count:
            break
    return kept
