"""The half-width of a plate as arching follows it: fair along the plate, and blind to the corners."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from meshes.outline import Outline
from meshes.smooth_map import DEGREE
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM

if TYPE_CHECKING:
    from scipy.interpolate import BSpline


PIECES = 12
"""Spans of the fair curve along the plate: enough for two bouts and a waist, too few for a corner."""
ROUNDING = 0.06
"""Radius of the disc, as a share of the shorter side: 12 mm on a violin."""
STATIONS = 600
END_WEIGHT = 1e3
"""Holds the half-width at zero at both ends, against the one of every other station."""


@dataclass(frozen=True, eq=False)
class FairWidth:
    """Half-width and middle of a plate along x, from ``start`` to ``end`` [m].

    ``square`` gives the half-width squared [m2], since at a rounded end that grows evenly while the half-width
    itself starts upright; ``middle`` gives y [m] half-way across.
    """

    start: float
    end: float
    square: "BSpline"
    middle: "BSpline"

    def across(self, points: Floats) -> Floats:
        """Return y (n,) at points (n, 2) [m] in half-widths from the middle: -1 and 1 at the edges."""
        x = np.clip(points[:, 0], self.start, self.end)
        least = 1e-6 * (self.end - self.start) ** 2
        return np.asarray((points[:, 1] - self.middle(x)) / np.sqrt(np.maximum(self.square(x), least)))

    def along(self, points: Floats) -> Floats:
        """Return x (n,) at points (n, 2) [m] as a fraction of the way from the start to the end."""
        return np.clip((points[:, 0] - self.start) / (self.end - self.start), 0.0, 1.0)


def fair_width(outline: Outline, inset: float) -> FairWidth:
    """Return the fair half-width of the plate ``inset`` [m] within its edge.

    A disc is rolled round inside (a morphological opening), which does not reach into the corners, and the square
    of the half-width of what it covers is fitted with a cubic spline of few pieces.

    Raises
    ------
    InputError
        If nothing is left of the plate so far within its edge, or it falls apart.
    """
    from scipy.interpolate import make_lsq_spline

    inner = _rolled(outline, inset)
    start, low, end, high = inner.bounds
    x = start + (end - start) * 0.5 * (1 - np.cos(np.linspace(0, np.pi, STATIONS)))
    x[-1] = end  # rounding may put it past the last knot
    lines = shapely.linestrings([[[place, low - 1.0], [place, high + 1.0]] for place in x[1:-1]])
    spans = shapely.bounds(shapely.intersection(lines, inner))[:, [1, 3]]
    square = np.concatenate([[0.0], (0.5 * (spans[:, 1] - spans[:, 0])) ** 2, [0.0]])
    weight = np.ones(STATIONS)
    weight[[0, -1]] = END_WEIGHT
    return FairWidth(
        start,
        end,
        make_lsq_spline(x, square, _clamped_knots(start, end, PIECES), DEGREE, w=weight),
        make_lsq_spline(x[1:-1], spans.mean(axis=1), _clamped_knots(start, end, PIECES // 2), DEGREE),
    )


def _rolled(outline: Outline, inset: float) -> shapely.Polygon:
    """Return what a disc covers that rolls within the outer edge, ``inset`` [m] from it."""
    rim = shapely.Polygon(outline.polygon.exterior)
    left, low, right, high = rim.bounds
    radius = ROUNDING * min(right - left, high - low)
    inner = rim.buffer(-inset - radius, quad_segs=64).buffer(radius, quad_segs=64)
    if inner.is_empty or not isinstance(inner, shapely.Polygon):
        raise InputError(
            f"arch: a channel {inset / MM:g} mm wide along the edge leaves no plate to arch; expected a few mm. "
            "Make it narrower."
        )
    return inner


def _clamped_knots(start: float, end: float, pieces: int) -> Floats:
    return np.concatenate([[start] * DEGREE, np.linspace(start, end, pieces + 1), [end] * DEGREE])
