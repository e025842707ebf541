"""Whether heights can be those of a plate's arch, and the sentence for the maker if not."""

import numpy as np
import shapely

from meshes.height_fit import most_astray
from meshes.outline import Outline
from meshes.readings import against_neighbours, neighbours, place
from meshes.smooth_fit import Smoother
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM

LOWEST_RISE = 0.05 * MM
HIGHEST_SHARE = 0.25
"""Greatest rise, as a share of the length; a violin's is a twentieth (common practice, no source)."""
AGREE = 0.3 * MM
"""Two heights of one place agree to this, besides what the slope makes (common practice, no source)."""
STEEPEST = 0.7
"""Slope of an arch, at the sides of a high one in the waist (common practice, no source)."""
GAP = 0.15
"""Greatest distance of any part from the nearest reading, in square roots of the area: 35 mm on a violin."""


def check_rise(readings: Floats, outline: Outline) -> None:
    """Refuse heights (n, 3) [m] that were clearly not noted in mm."""
    left, low, right, high = outline.bounds
    rise, length = float(np.ptp(readings[:, 2])), max(right - left, high - low)
    if 0 < rise < LOWEST_RISE:
        raise InputError(
            f"arch: the heights differ by {rise / MM:.3g} mm in all; expected some millimetres. "
            "If they are in metres, multiply them by 1000; if the plate is flat, write flat = true."
        )
    if rise > HIGHEST_SHARE * length:
        raise InputError(
            f"arch: the heights differ by {rise / MM:.4g} mm on a plate {length / MM:.0f} mm long; expected at "
            f"most {HIGHEST_SHARE * length / MM:.0f} mm. Look at the unit of z, or for a slip of the pen."
        )


def check_mostly_inside(beyond: Floats, margin: float) -> None:
    """Refuse heights most of which were not read on the plate; ``beyond`` (n,) [m] is outside the edge."""
    outside = int(np.sum(beyond > margin))
    if 2 * outside > len(beyond):
        raise InputError(
            f"arch: {outside} of {len(beyond)} readings lie outside the outline, up to "
            f"{beyond.max() / MM:.0f} mm; expected most of them on the plate. Look at the origin and the unit."
        )


def check_steps(readings: Floats) -> None:
    """Refuse heights (n, 3) [m], one per place, that stand off from most of those around them."""
    astray = against_neighbours(readings, 1.5 * MM, STEEPEST)
    if astray.any():
        _, near = neighbours(readings, min(6, len(readings) - 1))
        off = np.abs(readings[:, 2] - np.median(readings[near, 2], axis=1))
        worst = int(np.argmax(astray * off))
        raise _astray_reading("arch", readings[worst], float(np.median(readings[near[worst], 2])))


def check_none_astray(kind: str, smoother: Smoother, readings: Floats, around: int) -> None:
    """Refuse a height (n, 3) [m] that all the others contradict, by far more than they scatter.

    ``around`` is how many readings stand next to each: two along a line, four on a plate.
    """
    astray = most_astray(smoother, neighbours(readings, around)[0][:, -1])
    if astray:
        raise _astray_reading(kind, readings[astray[0]], astray[1])


def _astray_reading(kind: str, reading: Floats, expected: float) -> InputError:
    """Return the sentence for a height (3,) [m] where the others let ``expected`` [m] be expected."""
    return InputError(
        f"{kind}: the height at {place(reading)} is {reading[2] / MM:.2f} mm; expected about "
        f"{expected / MM:.1f} mm from those around it. Measure there again, or correct it."
    )


def check_covered(readings: Floats, outline: Outline) -> None:
    """Refuse heights (n, 3) [m] that leave a part of the plate without any reading near."""
    from scipy.spatial import cKDTree

    left, low, right, high = outline.bounds
    reach = GAP * float(np.sqrt(outline.without_holes().area))
    x, y = np.meshgrid(np.linspace(left, right, 90), np.linspace(low, high, 60), indexing="ij")
    grid = np.column_stack([x.ravel(), y.ravel()])
    rim = shapely.get_coordinates(outline.polygon.exterior)[::4]
    points = np.vstack([grid[outline.contains(grid)], rim])
    distance = np.asarray(cKDTree(readings[:, :2]).query(points)[0])
    if distance.max() > reach:
        raise InputError(
            f"arch: no height was read within {distance.max() / MM:.1f} mm of "
            f"{place(points[int(np.argmax(distance))])}; expected one within {reach / MM:.1f} mm of every place. "
            "Read some more there; if they were taken along lines only, give them as sections."
        )
