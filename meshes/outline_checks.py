"""Whether an edge and its holes can be a plate, and the sentence for the maker if not."""

import math

import numpy as np
import shapely

from meshes.edge import Edge
from meshes.steadied_edge import crossing
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM

LENGTHS = (60 * MM, 1000 * MM)
WIDTHS = (20 * MM, 600 * MM)
SMALLEST_HOLE = 3 * MM
LEAST_WOOD = 1 * MM
"""Wood left beside a hole: what is thinner breaks in the hand (common practice, no source)."""

USUAL_LENGTHS = (356 * MM, 410 * MM, 755 * MM)
"""Bodies of violin, viola and cello (common practice, no source), for telling inches from centimetres."""

UNITS = {
    25.4: "inches",
    10.0: "centimetres",
    1000.0: "metres",
    1 / 25.4: "mm, in a drawing marked as inches",
    0.1: "mm, in a drawing marked as centimetres",
    0.001: "mm, in a drawing marked as metres",
}
"""What the numbers are likely to be if this factor makes a plate of them."""


def check_edge(edge: Edge, polygon: Floats) -> shapely.Polygon:
    """Return the shape of an edge that has the size of a plate and does not cross itself."""
    length, width = np.ptp(polygon, axis=0)
    if not _is_plate(length, width):
        raise InputError(
            f"{edge.name}: it is {_mm(length)} long and {_mm(width)} wide; expected {_range(LENGTHS)} "
            f"along x and {_range(WIDTHS)} along y. {_unit_advice(length, width)}"
        )
    return _simple(edge, polygon)


def check_turned(edge: Edge, rim: shapely.Polygon) -> None:
    """Refuse a plate with a waist that lies across; a panel has no waist and may lie as it likes."""
    xmin, ymin, xmax, ymax = rim.bounds
    has_waist = rim.area < 0.97 * rim.convex_hull.area
    if has_waist and ymax - ymin > 1.3 * (xmax - xmin):
        raise InputError(
            f"{edge.name}: it is {_mm(ymax - ymin)} along y and {_mm(xmax - xmin)} along x; expected x "
            "along the centre line, from the lower to the upper end. "
            "Write the old y as x, and the old x with its sign turned as y."
        )


def check_hole(hole: Edge, polygon: Floats, rim: shapely.Polygon) -> shapely.Polygon:
    """Return the shape of a hole that lies inside the edge with wood left around it."""
    size = float(np.ptp(polygon, axis=0).max())
    if size < SMALLEST_HOLE:
        raise InputError(
            f"{hole.name}: the hole is {_mm(size)} long; expected at least {_mm(SMALLEST_HOLE)}. "
            "If it was given in inches, multiply by 25.4; smaller holes do not matter to the modes."
        )
    shape = _simple(hole, polygon)
    if rim.disjoint(shape):
        raise InputError(
            f"{hole.name}: the hole lies outside the plate, {at_place(shape.centroid)}; expected it inside. "
            "Look whether both have the same origin, unit and direction of y."
        )
    if not rim.contains(shape):
        place = shape.difference(rim).representative_point()
        raise InputError(
            f"{hole.name}: the hole crosses the edge {at_place(place)}; expected it inside, at least "
            f"{_mm(LEAST_WOOD)} from the edge. Move it, or correct its points there."
        )
    _check_wood_between(f"{hole.name}: the hole", shape.exterior, "the edge", rim.exterior)
    return shape


def check_apart(hole: Edge, shape: shapely.Polygon, other: Edge, other_shape: shapely.Polygon) -> None:
    """Refuse two holes that meet or leave less than 1 mm of wood between them."""
    if shape.intersects(other_shape):
        place = shape.intersection(other_shape).representative_point()
        raise InputError(
            f"{hole.name}: the hole overlaps {other.name} {at_place(place)}; expected wood between them. "
            "Look whether one is listed twice, or correct the points there."
        )
    _check_wood_between(f"{hole.name}: the hole", shape.exterior, other.name, other_shape.exterior)


def _check_wood_between(
    what: str, ring: shapely.LinearRing, other: str, other_ring: shapely.LinearRing
) -> None:
    gap = ring.distance(other_ring)
    if gap < LEAST_WOOD:
        place = shapely.shortest_line(ring, other_ring).centroid
        raise InputError(
            f"{what} comes within {1e3 * gap:.2f} mm of {other} {at_place(place)}; expected at least "
            f"{_mm(LEAST_WOOD)} of wood between them. Move it, or correct its points there."
        )


def _simple(edge: Edge, polygon: Floats) -> shapely.Polygon:
    """Return the polygon's shape, or say where it crosses or touches itself."""
    place = crossing(polygon)
    if place is not None:
        raise InputError(
            f"{edge.name}: the edge crosses itself {at_place(shapely.Point(place))}; expected it "
            "once round, its points in order. Look there for points in the wrong order."
        )
    return shapely.Polygon(polygon)


def _is_plate(length: float, width: float) -> bool:
    return LENGTHS[0] <= length <= LENGTHS[1] and WIDTHS[0] <= width <= WIDTHS[1]


def _unit_advice(length: float, width: float) -> str:
    """Name the unit that brings the longer side nearest to the usual bodies, if any makes it a plate."""
    longer = max(length, width)
    fitting = [factor for factor in UNITS if _is_plate(factor * length, factor * width)]
    if not fitting:
        return "Check its points and its unit."
    best = min(
        fitting, key=lambda factor: min(abs(math.log(factor * longer / usual)) for usual in USUAL_LENGTHS)
    )
    return f"If its numbers are {UNITS[best]}, multiply them by {best:.4g}."


def _mm(length: float) -> str:
    return f"{length / MM:.4g} mm"


def _range(limits: tuple[float, float]) -> str:
    return f"{limits[0] / MM:.0f} to {limits[1] / MM:.0f} mm"


def at_place(point: shapely.Point) -> str:
    """Return a place of the plan [m] in words."""
    x, y = (round(value / MM, 1) + 0.0 for value in (point.x, point.y))  # + 0.0 makes no -0.0 of it
    return f"near x = {x:.1f} mm, y = {y:.1f} mm"
