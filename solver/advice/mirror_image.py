"""How far a plate is from its own mirror image about the centre line."""

import numpy as np

from meshes.cells import Cells
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.plate.plate import Plate

ALIKE = 0.1 * MM
"""Root mean square [m] of the difference in thickness between mirrored places up to which the two sides of a plate are
meant to be the same: readings err by 0.05 mm each (common practice, no source)."""

ARCHED_ALIKE = 0.5 * MM
"""The same of the height of the arch, which moves while the wood dries (common practice, no source)."""

_OUTLINE = 0.02
"""Share of a plate's area that may lie outside its mirror image."""


def sides_are_alike(plate: Plate, cells: Cells) -> bool:
    """Tell whether a plate has no bar and its left and right side are the same within what calipers tell."""
    mirrored = cells.points * [1.0, -1.0]
    inside = plate.outline.contains(mirrored)
    if plate.bar is not None or cells.areas[~inside].sum() > _OUTLINE * cells.areas.sum():
        return False
    here, there = cells.points[inside], mirrored[inside]
    thickness = plate.graduation.at(here) - plate.graduation.at(there)
    height = plate.arch.at(here).height - plate.arch.at(there).height
    return _mean(thickness) <= ALIKE and _mean(height) <= ARCHED_ALIKE


def _mean(difference: Floats) -> float:
    return float(np.sqrt(np.mean(np.square(difference))))
