"""Lines of equal thickness and areas of equal removal on the plan, cut off at its edges."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import cast

import numpy as np
import shapely
from contourpy import ContourGenerator, FillType, LineType, contour_generator
from shapely.geometry.base import BaseGeometry

from solver.core.arrays import Floats
from solver.core.units import MM
from solver.viewer.plan_view import PlanGrid


@dataclass(frozen=True, eq=False)
class Contour:
    """A line (p, 2) [mm] on paper along which something is ``level``; a closed one repeats its first point."""

    level: float
    line: Floats


@dataclass(frozen=True, eq=False)
class Band:
    """The part of the plan on paper [mm] where something lies between ``level`` and the next."""

    level: float
    area: BaseGeometry


def contours(grid: PlanGrid, values: Floats, levels: Sequence[float], within: BaseGeometry) -> list[Contour]:
    """Return the lines along which ``values`` (n,) at the grid's points pass each level, cut off at ``within`` [mm]."""
    generator = _generator(grid, values)
    found = []
    for level in levels:
        # LineType.Separate: each line is one array of points
        lines = [shapely.LineString(line) for line in cast("list[Floats]", generator.lines(level))]
        found += [Contour(level, line) for line in cut_lines(lines, within)]
    return found


def cut_lines(lines: Sequence[BaseGeometry], within: BaseGeometry) -> list[Floats]:
    """Return what lies within an area of lines, as polylines (p, 2), those that go on in one another joined."""
    kept = shapely.intersection(np.array(lines, dtype=object), within)
    parts = shapely.get_parts(kept)
    straight = parts[shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING]
    joined = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(straight)))
    return [shapely.get_coordinates(line) for line in joined]


def bands(grid: PlanGrid, values: Floats, levels: Sequence[float], within: BaseGeometry) -> list[Band]:
    """Return the areas between each level and the next, in which ``values`` (n,) at the grid's points lie.

    Between two levels where nothing lies there is no area.
    """
    generator = _generator(grid, values)
    found = []
    for low, high in pairwise(levels):
        # FillType.OuterOffset: each polygon is one array of points, its rings told by offsets
        points, offsets = cast("tuple[list[Floats], list[list[int]]]", generator.filled(low, high))
        pieces = [_polygon(p, o) for p, o in zip(points, offsets, strict=True)]
        area = shapely.union_all(pieces).intersection(within)
        if area.area > 0:
            found.append(Band(low, area))
    return found


def _generator(grid: PlanGrid, values: Floats) -> ContourGenerator:
    field = np.ma.masked_invalid(grid.field(values))
    return contour_generator(
        grid.y / MM, grid.x / MM, field, line_type=LineType.Separate, fill_type=FillType.OuterOffset
    )


def _polygon(points: Floats, offsets: Sequence[int]) -> BaseGeometry:
    rings = [points[a:b] for a, b in pairwise(offsets)]
    return shapely.make_valid(shapely.Polygon(rings[0], rings[1:]))
