"""The least and the greatest reading near a place: the bounds that a graduation map keeps to."""

from typing import TYPE_CHECKING

import numpy as np
import shapely

from solver.core.arrays import Floats, Ints

if TYPE_CHECKING:
    from scipy.spatial import Delaunay


def nearby_range(readings: Floats, points: Floats) -> tuple[Floats, Floats]:
    """Return the least and the greatest (n,) of the readings (k, 3) around each of the points (n, 2).

    Around a point are the nearest reading, the three between which it lies (Delaunay's triangle), and all that are
    joined to one of these by the side of a triangle.
    """
    from scipy.spatial import Delaunay, cKDTree

    triangles = Delaunay(readings[:, :2])
    low, high = _joined_range(triangles, readings[:, 2])
    inside = _triangle_of(triangles, points)
    nearest = np.asarray(cKDTree(readings[:, :2]).query(points)[1])[:, None]
    corners = np.where(inside[:, None] >= 0, triangles.simplices[inside], nearest)
    around = np.hstack([corners, nearest])
    return low[around].min(axis=1), high[around].max(axis=1)


def _triangle_of(triangles: "Delaunay", points: Floats) -> Ints:
    """Return the triangle (n,) in which each point lies, -1 if in none.

    Only points within the hull are searched for: those without make the search try every triangle, for seconds.
    """
    hull = shapely.convex_hull(shapely.multipoints(triangles.points))
    within = shapely.contains_xy(hull, points)
    found = np.full(len(points), -1)
    found[within] = triangles.find_simplex(points[within])
    return found


def _joined_range(triangles: "Delaunay", values: Floats) -> tuple[Floats, Floats]:
    """Return the least and the greatest (k,) of each reading and those joined to it."""
    low, high = values.copy(), values.copy()
    for corner in range(3):
        one = triangles.simplices[:, corner]
        for other in (triangles.simplices[:, corner - 1], triangles.simplices[:, corner - 2]):
            np.minimum.at(low, one, values[other])
            np.maximum.at(high, one, values[other])
    return low, high
