"""From caliper readings to a smooth thickness that keeps to every one of them."""

from typing import TYPE_CHECKING

import numpy as np

from meshes.bounded_fit import Limits, bounded_coefficients
from meshes.knot_grid import KnotGrid, knot_grid
from meshes.nearby_range import nearby_range
from meshes.readings import place, spacing
from meshes.smooth_fit import Smoother
from meshes.smooth_map import Bounds, SmoothMap
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM

if TYPE_CHECKING:
    from scipy.sparse import csr_array


BENDING = 2
"""Order of the derivatives that are kept small: the map bends as little as a thin sheet would."""
PLANES = 3
FINEST = 4.0 * MM
NOISE = 0.6
"""Share of the repeatability that is the standard deviation of a caliper's readings, if they are even in it."""
NEXT = 3
"""Coefficients in a row that must lie in each other's ranges, so that no range ends between two of them."""


def fit_thickness(readings: Floats, bounds: Bounds, repeatability: float) -> SmoothMap:
    """Return a smooth map through readings (n, 3) [m], one per place, over the bounds of a plate.

    It misses none by more than ``repeatability`` [m], and leaves the range of the readings around
    (`nearby_range`, and all within two knots) by no more than that.

    Raises
    ------
    InputError
        If no map on knots half as far apart as usual can do so; names the reading that is missed most.
    """
    length = max(bounds[2] - bounds[0], bounds[3] - bounds[1])
    step = float(np.clip(0.5 * spacing(readings), max(FINEST, length / 90), max(FINEST, length / 60)))
    for finer in (step, 0.5 * step):
        grid = knot_grid(bounds, finer, finer)
        design = grid.design(readings[:, :2])
        c = _coefficients(grid, design, readings, repeatability)
        misfit = np.abs(design @ c - readings[:, 2])
        if misfit.max() <= repeatability:
            return grid.map(c)
    worst = readings[int(np.argmax(misfit))]
    raise InputError(
        f"thickness: {worst[2] / MM:.2f} mm at {place(worst)} is {misfit.max() / MM:.2f} mm off any smooth "
        f"plate through the readings around it; expected {repeatability / MM:.2f} mm at most. "
        "Measure there again, take it out, or average readings that lie so close."
    )


def _coefficients(grid: KnotGrid, design: "csr_array", readings: Floats, repeatability: float) -> Floats:
    mean = float(readings[:, 2].mean())
    low, high = _coefficient_range(grid, design, readings)
    smoother = Smoother(design, grid.roughness(BENDING), PLANES, readings[:, 2] - mean, 0.1 * repeatability)
    smoothing = smoother.smoothing_within(NOISE * repeatability)
    limits = Limits(repeatability, low - mean, high - mean)
    return mean + bounded_coefficients(smoother, smoothing, limits)


def _coefficient_range(grid: KnotGrid, design: "csr_array", readings: Floats) -> tuple[Floats, Floats]:
    """Return the least and the greatest (m,) of the readings around the places where each coefficient acts.

    A cubic spline is everywhere a mean of its coefficients nearby, so what holds for them holds for the map.
    """
    from scipy.ndimage import maximum_filter, minimum_filter

    low, high = nearby_range(readings, grid.centres)
    low = maximum_filter(low.reshape(grid.shape), NEXT).ravel()
    high = minimum_filter(high.reshape(grid.shape), NEXT).ravel()
    touched = np.repeat(readings[:, 2], np.diff(design.indptr))
    np.minimum.at(low, design.indices, touched)
    np.maximum.at(high, design.indices, touched)
    return low, high
