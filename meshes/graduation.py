"""The graduation: the thickness of a plate everywhere, from caliper readings."""

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from meshes.graduation_checks import check_on_plate, check_possible, check_typos, check_unit
from meshes.graduation_fit import fit_thickness
from meshes.outline import Outline
from meshes.readings import check_consistent, check_enough, check_spread, one_per_place, spacing
from meshes.smooth_map import Bounds, Function, SmoothMap, constant_map, map_of_function
from solver.core.arrays import Bools, Floats, freeze
from solver.core.units import MM

if TYPE_CHECKING:
    from scipy.spatial import cKDTree


FUNCTION_STEP = 2.0 * MM
REPEATABILITY = 0.05 * MM
"""Two settings of a good caliper on the same place agree to this (common practice, no source)."""
LEAST_READINGS = 8
MARGIN = 3.0 * MM
"""How far outside the edge a reading may be noted and still be meant for the edge."""
NO_READINGS = np.empty((0, 3))


@dataclass(frozen=True, eq=False)
class Graduation:
    """The thickness of a plate along its normal, and how well it is known where.

    ``readings`` (n, 3) [m] are x, y and thickness, one per place, and none if the thickness was not measured
    but given; ``reach`` [m] is how far from a reading the map still rests on it.
    """

    thickness: SmoothMap
    readings: Floats = field(default_factory=lambda: NO_READINGS)
    reach: float = np.inf

    def __post_init__(self) -> None:
        freeze(self, readings=((None, 3), float))

    def at(self, points: Floats) -> Floats:
        """Return the thickness (n,) [m] along the normal at plan points (n, 2) [m]."""
        return self.thickness.value(points)

    def gradient(self, points: Floats) -> Floats:
        """Return its slope (n, 2) in plan at plan points (n, 2) [m]."""
        return self.thickness.gradient(points)

    @cached_property
    def _places(self) -> "cKDTree":
        from scipy.spatial import cKDTree

        return cKDTree(self.readings[:, :2])

    def is_guess(self, points: Floats) -> Bools:
        """Tell at which plan points (n, 2) [m] the thickness is a guess, because no reading lies within reach."""
        if not len(self.readings):
            return np.zeros(len(points), dtype=np.bool_)
        return np.asarray(self._places.query(points)[0] > self.reach)


def uniform_graduation(thickness: float) -> Graduation:
    """Return one thickness [m] everywhere."""
    return Graduation(constant_map(thickness))


def graduation_from_function(thickness: Function, bounds: Bounds, step: float = FUNCTION_STEP) -> Graduation:
    """Return the thickness [m] that a formula gives at plan points (n, 2) [m], over a rectangle."""
    return Graduation(map_of_function(thickness, bounds, step))


def graduation_from_readings(
    readings: Floats, outline: Outline, repeatability: float = REPEATABILITY
) -> Graduation:
    """Return the thickness of a plate from caliper readings (n, 3) [m]: x, y, thickness along the normal.

    The map passes every reading within ``repeatability`` [m] and leaves the range of the readings nearby by no
    more than that. Readings within 1 mm of each other are one, their mean.

    Raises
    ------
    InputError
        If they are fewer than 8 or all along one line, in another unit than mm, no thickness of a plate, outside
        the outline by more than 3 mm, if two of one place differ by more than four times the repeatability, or
        one does not go with those around it. The sentence says where.
    """
    check_enough("thickness", readings, LEAST_READINGS)
    check_unit(readings)
    check_possible(readings)
    check_on_plate(readings, outline, MARGIN)
    check_consistent("thickness", readings, 4 * repeatability, steepest=0.0)
    places = one_per_place(readings)
    check_enough("thickness", places, LEAST_READINGS)
    check_spread("thickness", places)
    check_typos(places)
    thickness = fit_thickness(places, outline.bounds, repeatability)
    return Graduation(thickness, places, _reach(places, outline))


def _reach(places: Floats, outline: Outline) -> float:
    """Return how far [m] from a reading the map still rests on it.

    Once and a half the usual distance of the readings, but at least 15 mm, and at most 0.15 times the square
    root of the plate's area (35 mm on a violin), however few the readings are.
    """
    most = 0.15 * np.sqrt(outline.without_holes().area)
    return float(max(15 * MM, min(1.5 * spacing(places), most)))
