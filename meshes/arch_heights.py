"""The arch from heights read anywhere on the plate, scattered or on a grid."""

import numpy as np

from meshes.arch_checks import (
    AGREE,
    STEEPEST,
    check_covered,
    check_mostly_inside,
    check_none_astray,
    check_rise,
    check_steps,
)
from meshes.height_fit import MOST_NOISE, STIFFNESS, foretelling_error, map_smoother
from meshes.outline import Outline
from meshes.readings import (
    beyond_edge,
    check_consistent,
    check_enough,
    check_spread,
    one_per_place,
)
from meshes.smooth_map import SmoothMap
from meshes.surface import Arch, MappedArch
from solver.core.arrays import Floats
from solver.core.units import MM

LEAST_READINGS = 20
ON_PLATE = 0.5 * MM
"""How far outside the edge a height still counts as read on the edge."""
CONTINUES = 0.5 * MM
CLEARLY = 0.5
"""Fifth derivatives are kept small instead of fourth ones if they foretell every reading from the others so much
better: then the arch is smooth right through its edge, and goes on there as it came."""
BAND = 10.0 * MM
"""How far outside the edge heights of the same surface are of use; a grid or a scan may reach past it."""


def arch_from_heights(readings: Floats, outline: Outline) -> Arch:
    """Return the arch through heights (n, 3) [m] of the outer surface, smoothed by as much as they scatter.

    The datum does not matter. Readings outside the edge are used as far as 10 mm from it, if they continue the
    arch, and left out otherwise.

    Raises
    ------
    InputError
        If they are fewer than 20, in another unit than mm, not on the plate, leave a part of it without any, if
        two of one place differ by more than 0.3 mm and the slope, or one does not go with the rest. The
        sentence says where.
    """
    check_enough("arch", readings, LEAST_READINGS)
    beyond = beyond_edge(readings, outline)
    check_mostly_inside(beyond, ON_PLATE)
    inside = readings[beyond <= ON_PLATE]
    check_consistent("arch", inside, AGREE, STEEPEST)
    inside = one_per_place(inside)
    check_enough("arch", inside, LEAST_READINGS)
    check_spread("arch", inside)
    check_rise(inside, outline)
    check_covered(inside, outline)
    check_steps(inside)
    height, scatter = _fit(inside, outline)
    band = readings[(beyond > ON_PLATE) & (beyond < BAND)]
    off = np.abs(height.value(band[:, :2]) - band[:, 2])
    band = band[off < CONTINUES + 5 * scatter]
    return MappedArch(_fit(one_per_place(np.vstack([inside, band])), outline)[0] if len(band) else height)


def _fit(heights: Floats, outline: Outline) -> tuple[SmoothMap, float]:
    """Return the map through heights (n, 3) [m], one per place, and what it misses them by."""
    grid, smoother = map_smoother(heights, outline.bounds)
    check_none_astray("arch", smoother, heights, around=4)
    _, stiffer = map_smoother(heights, outline.bounds, STIFFNESS + 1)
    if foretelling_error(stiffer) < CLEARLY * foretelling_error(smoother):
        smoother = stiffer
    smoothing = smoother.smoothing_within(MOST_NOISE)
    return grid.map(smoother.coefficients(smoothing)), smoother.scatter(smoothing)
