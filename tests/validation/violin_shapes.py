"""Invented violin-like shapes, analytic throughout: outline with corners, arch, graduation, sound holes."""

import numpy as np

from solver.core.arrays import Floats
from tests.validation.solid.curves import Curve, smooth_loop, splines
from tests.validation.solid.jet import Jet, bell, cosine, power
from tests.validation.solid.plate import Field

LENGTH = 0.355
"""Length of the plate [m]; 206, 110 and 167 mm across the bouts and the waist."""

_UPPER: list[tuple[float, float]] = [
    (355, 0),
    (354, 20),
    (349.5, 42),
    (340, 60),
    (325, 73.5),
    (306, 81.5),
    (288, 83.5),
    (270, 81),
]
_UPPER += [(254, 75.8), (242, 73), (234, 73.6), (228.5, 76.5)]
_WAIST: list[tuple[float, float]] = [
    (228.5, 76.5),
    (219.5, 70.5),
    (211, 62.5),
    (200, 57.2),
    (186, 55),
    (172, 56.5),
    (159, 62),
]
_WAIST += [(148, 72), (141.5, 82), (138, 92)]
_LOWER: list[tuple[float, float]] = [
    (138, 92),
    (131, 88.6),
    (122, 88.2),
    (108, 92.5),
    (92, 98.8),
    (74, 102.8),
    (58, 103),
    (40, 98),
]
_LOWER += [(24, 86.5), (11, 67), (3.5, 42), (0.6, 20), (0, 0)]

_SOUND_HOLE: list[tuple[float, float]] = [
    (67.2, 0),
    (66.4, 2.2),
    (64, 3.3),
    (60.8, 2.7),
    (56, 2),
    (48, 1.8),
    (32, 1.9),
    (16, 1.9),
    (8, 2.3),
]
_SOUND_HOLE += [(3.6, 3.4), (0, 4.1), (-2.9, 2.9), (-4.1, 0)]


def _mirrored(run: Floats) -> Floats:
    return run[::-1] * [1.0, -1.0]


def violin_outline() -> Curve:
    """The edge with its four corners, counter-clockwise from the upper corner of the bass side."""
    upper, waist, lower = (np.array(run, dtype=float) * 1e-3 for run in (_UPPER, _WAIST, _LOWER))
    bottom = np.vstack([lower, _mirrored(lower)[1:]])
    top = np.vstack([_mirrored(upper), upper[1:]])
    return splines([waist, bottom, _mirrored(waist), top])


def sound_holes() -> tuple[Curve, Curve]:
    """The two slanting sound holes, bass and treble: a narrow bent stem between two round eyes."""
    half = np.array(_SOUND_HOLE, dtype=float)
    loop = np.vstack([half, _mirrored(half)[1:-1]])
    loop[:, 1] += 3.0 * np.sin(2 * np.pi * loop[:, 0] / 64)
    lower, upper = np.array([0.150, 0.0505]), np.array([0.2135, 0.0245])
    along = (upper - lower) / np.linalg.norm(upper - lower)
    bass = lower + 1e-3 * (loop[:, :1] * along + loop[:, 1:] * [-along[1], along[0]])
    return smooth_loop(bass), smooth_loop(_mirrored(bass))


def _half_width(x: Jet) -> Jet:
    """A smooth half-width [m], near the edge's at the bouts, the waist and the corners."""
    lower = 0.047 * bell((x - 0.070) * (1 / 0.090))
    upper = 0.024 * bell((x - 0.290) * (1 / 0.065))
    return 0.056 + lower + upper


def violin_arch(rise: float) -> Field:
    """A long arch kept full towards the ends times a cosine cross arch in the half-width; ``rise`` [m]."""

    def height(x: Jet, y: Jet) -> Jet:
        along = 1.0 - power(x * (2 / LENGTH) - 1.0, 4)
        across = cosine(np.pi * (y * power(_half_width(x), -1)))
        return (0.5 * rise) * (along * (1.0 + across))

    return height


def hump(least: float, more: float, centre: tuple[float, float], reach: tuple[float, float]) -> Field:
    """A thickness [m] of ``least`` far away and ``more`` at the centre; ``reach`` [m] along and across."""

    def thickness(x: Jet, y: Jet) -> Jet:
        return least + more * (
            bell((x - centre[0]) * (1 / reach[0])) * bell((y - centre[1]) * (1 / reach[1]))
        )

    return thickness
