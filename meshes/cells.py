"""Small cells of a plan: for areas, volumes and averages without a mesh."""

from dataclasses import dataclass

import numpy as np
import shapely

from solver.core.arrays import Floats, freeze


@dataclass(frozen=True, eq=False)
class Cells:
    """Squares of a grid, those at the edge cut along it.

    ``points`` (n, 2) [m] are their centroids, ``areas`` (n,) [m2].
    """

    points: Floats
    areas: Floats

    def __post_init__(self) -> None:
        """Keep the arrays from being changed."""
        freeze(self, points=((None, 2), float), areas=((None,), float))


def cut_into_cells(polygon: shapely.Polygon, step: float) -> Cells:
    """Cut a plan into squares of ``step`` [m], exactly to its edge and its holes.

    ``integral f dA ~ sum areas f(points)`` is exact for linear f in every cell, so its error falls as step^2.
    """
    x0, y0, x1, y1 = polygon.bounds
    x = np.arange(x0, x1, step)
    y = np.arange(y0, y1, step)
    corners = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    squares = shapely.box(corners[:, 0], corners[:, 1], corners[:, 0] + step, corners[:, 1] + step)
    # a copy: a polygon that is prepared serves one thread
    polygon = shapely.Polygon(polygon.exterior, list(polygon.interiors))
    shapely.prepare(polygon)
    whole = shapely.contains_properly(polygon, squares)
    pieces = np.concatenate([squares[whole], _cut(polygon, squares[~whole])])
    centroids = shapely.centroid(pieces)
    points = np.stack([shapely.get_x(centroids), shapely.get_y(centroids)], axis=1)
    return Cells(points, shapely.area(pieces))


def _cut(polygon: shapely.Polygon, squares: np.ndarray[tuple[int], np.dtype[np.object_]]) -> np.ndarray:
    """Return what lies in the plan of squares on its edge, the empty ones left out."""
    touched = squares[shapely.intersects(polygon, squares)]
    pieces = shapely.intersection(polygon, touched)
    return pieces[shapely.area(pieces) > 0]
