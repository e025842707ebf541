"""A plate as the renderer of photos knows it: maps of its wood and of the height of both sides. Lengths in mm."""

from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from matplotlib.path import Path as Ring
from matplotlib.tri import Triangulation
from scipy.ndimage import map_coordinates

from solver.core.arrays import Bools, Floats, Ints

GRID = 0.5
"""Step of the maps of the plate [mm]."""

MARGIN = 8.0
"""Width of the maps beyond the plate [mm]."""


@dataclass(frozen=True, eq=False)
class Subject:
    """A plate to be photographed: rim (n, 2) and holes [mm]; on points (p, 2) [mm] with ``triangles`` between them the
    height of the outer surface and the thickness (p,) [mm]."""

    rim: Floats
    holes: tuple[Floats, ...]
    points: Floats
    triangles: Ints
    height: Floats
    thickness: Floats


@dataclass(frozen=True, eq=False)
class PlateMaps:
    """Maps of the plate on a grid over its plan, and where the grid begins [mm].

    A value given on the points of the plate is, at grid cell k, the sum of those at ``corners`` (k, 3) with their
    ``shares`` (k, 3), which are nan off the triangles.
    """

    origin: Floats
    wood: Bools
    corners: Ints
    shares: Floats
    outer: Floats
    inner: Floats

    def at(self, values: Floats, x: Floats, y: Floats) -> Floats:
        """Return a map between its grid points."""
        where = np.stack([(x - self.origin[0]) / GRID, (y - self.origin[1]) / GRID])
        return np.asarray(map_coordinates(values, where, order=1, mode="nearest"))

    def drawn(self, values: Floats) -> Floats:
        """Return the map of values (p,) given on the points of the plate, nan off the triangles."""
        return _drawn(values, self.corners, self.shares, self.wood.shape)


@cache
def maps_of(subject: Subject) -> PlateMaps:
    """Return the maps of a plate, drawn once for all its photos."""
    low, high = subject.rim.min(axis=0) - MARGIN, subject.rim.max(axis=0) + MARGIN
    x, y = np.arange(low[0], high[0], GRID), np.arange(low[1], high[1], GRID)
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
    flat = grid.reshape(-1, 2)
    wood = Ring(subject.rim).contains_points(flat)
    for hole in subject.holes:
        wood &= ~Ring(hole).contains_points(flat)
    corners, shares = _shares(subject, flat)
    maps = []
    for values in subject.height, subject.height - subject.thickness:
        drawn = _drawn(values, corners, shares, grid.shape[:2])
        maps.append(np.where(np.isnan(drawn), values[_rimward(subject)].mean(), drawn))
    return PlateMaps(low, wood.reshape(grid.shape[:2]), corners, shares, maps[0], maps[1])


def _shares(subject: Subject, places: Floats) -> tuple[Ints, Floats]:
    """Return the corners (k, 3) of the triangle about each place (k, 2), and the share of each in it."""
    mesh = Triangulation(subject.points[:, 0], subject.points[:, 1], subject.triangles)
    about: Ints = np.asarray(mesh.get_trifinder()(*places.T), np.int64)
    corners = mesh.triangles[np.maximum(about, 0)]
    first, second, third = (subject.points[corners[:, i]] for i in range(3))
    (ax, ay), (bx, by), (px, py) = (second - first).T, (third - first).T, (places - first).T
    whole = ax * by - ay * bx
    shares = np.stack([np.ones_like(whole), (px * by - py * bx) / whole, (ax * py - ay * px) / whole], axis=1)
    shares[:, 0] -= shares[:, 1] + shares[:, 2]
    shares[about < 0] = np.nan
    return np.asarray(corners), shares


def _drawn(values: Floats, corners: Ints, shares: Floats, shape: tuple[int, ...]) -> Floats:
    return np.asarray((values[corners] * shares).sum(axis=1).reshape(shape))


def _rimward(subject: Subject) -> Ints:
    """The points that lie nearest to the rim."""
    far = np.asarray(shapely.distance(shapely.LinearRing(subject.rim), shapely.points(subject.points)))
    return np.argsort(far)[: max(8, len(far) // 50)]
