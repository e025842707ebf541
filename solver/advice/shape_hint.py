"""Where a thinner spot would bring a computed node line towards the seen one: a hint where to measure again."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from meshes.removal import Hollow
from solver.advice.pattern_match import LinePair
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.modal.lattice import lattice_hollows
from solver.modal.shape_change import ShapeChange
from solver.plate.plate import Plate

DEEPEST = 0.3 * MM
"""More than this the calipers do not miss (common practice, no source)."""

_WORTH = 0.12
"""Least part of the mean distance that a spot must take away to be named."""

_LEAST_OFF = 1.0 * MM
"""Root mean square distance under which there is nothing to be explained."""

_COUNTED = 15.0 * MM
_WIDER = 1.6


@dataclass(frozen=True, eq=False)
class ShapeHint:
    """A hollow that would bring the computed line towards the seen one; root mean square distances [m] before and after."""

    hollow: Hollow
    before: float
    after: float


def shape_hint(plate: Plate, change: ShapeChange, pair: LinePair) -> ShapeHint | None:
    """Return the one spot whose thinning helps most, None where none helps much or the lines lie as near as powder tells.

    To first order, among hollows as wide as a thumb plane leaves them: with the wanted shifts t of the computed line's
    points and a hollow's shifts s per depth, the depth ``d = t.s / s.s``, never negative and at most 0.3 mm, leaves
    ``|t - d s|^2``.
    """
    wanted, points = _wanted(pair)
    if len(points) < 10:
        return None
    shift = change.line_shift(points)
    target = (wanted * shift.across).sum(axis=1)
    before = float(np.sqrt((target**2).mean()))
    if before < _LEAST_OFF:
        return None
    best: ShapeHint | None = None
    for small in lattice_hollows(plate.outline, change.places):
        hollow = Hollow(small.centre, _WIDER * small.radius, 1.0)
        moved = shift.per_share @ change.shares(hollow)
        depth = float(np.clip(target @ moved / max(moved @ moved, 1e-30), 0.0, DEEPEST))
        after = float(np.sqrt(((target - depth * moved) ** 2).mean()))
        if after < (best.after if best else (1 - _WORTH) * before):
            best = ShapeHint(Hollow(hollow.centre, hollow.radius, depth), before, after)
    return best


def _wanted(pair: LinePair) -> tuple[Floats, Floats]:
    """Return how far (s, 2) [m] the computed points (s, 2) [m] should move; points without company are left out."""
    off, near = (np.asarray(found) for found in cKDTree(pair.seen).query(pair.computed))
    use = off < _COUNTED
    return pair.seen[near[use]] - pair.computed[use], pair.computed[use]
