"""An edge that crosses itself by the tremor of the hand that traced it, steadied by less than sound can tell.

At the tip of a notch, or where points lie close, a tremor of a tenth of a millimetre makes the curve through the points
cross itself. The points beside such a crossing go towards the middle of their neighbours until it is gone.
"""

from dataclasses import replace

import numpy as np
import shapely

from meshes.edge import Edge
from solver.core.arrays import Floats
from solver.core.units import MM

TREMOR = 0.2 * MM
"""Most by which a point is moved: what is finer is left out of the mesh too."""

_BESIDE = 6
"""Points moved at a crossing: those of both stretches that cross, and their neighbours."""

_ROUNDS = 60


def steadied(edge: Edge) -> Edge:
    """Return the edge clear of itself, its points moved by 0.2 mm at most, or as it is where that does not help."""
    steady = edge
    for _ in range(_ROUNDS):
        place = crossing(steady.polygon)
        if place is None:
            return steady
        knots = _calmer(steady.knots, edge.knots, place)
        if np.abs(knots - steady.knots).max() < 1e-3 * TREMOR:
            break
        steady = replace(edge, knots=knots, traced=edge.knots)
    return edge


def crossing(polygon: Floats) -> Floats | None:
    """Return a place (2,) [m] where the polygon (k, 2) crosses or touches itself, if it does."""
    shape = shapely.Polygon(polygon)
    if shape.is_valid:
        return None
    x, y = shapely.is_valid_reason(shape).partition("[")[2].rstrip("]").split()
    return np.array([float(x), float(y)])


def _calmer(knots: Floats, traced: Floats, place: Floats) -> Floats:
    """Move the knots beside a place half-way to the middle of their neighbours, within the tremor of where they were."""
    beside = np.argsort(np.linalg.norm(knots - place, axis=1))[:_BESIDE]
    middles = 0.5 * (np.roll(knots, 1, axis=0) + np.roll(knots, -1, axis=0))
    off = (0.5 * (knots + middles) - traced)[beside]
    far = np.linalg.norm(off, axis=1, keepdims=True)
    calmer = knots.copy()
    calmer[beside] = traced[beside] + off * np.minimum(1.0, TREMOR / np.maximum(far, 1e-12))
    return calmer
