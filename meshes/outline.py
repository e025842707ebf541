"""The outline of a plate: its edge and its holes in plan."""

import threading
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from meshes.edge import Edge, edge_through
from meshes.outline_checks import check_apart, check_edge, check_hole, check_turned
from meshes.steadied_edge import steadied
from solver.core.arrays import Bools, Floats

__all__ = ["Edge", "Outline", "edge_through", "make_outline"]

_ONE_THREAD = threading.Lock()
"""Held while a prepared polygon is asked: two threads at once spoil its index, and the program ends."""


@dataclass(frozen=True, eq=False)
class Outline:
    """The edge of a plate and the holes in it.

    x runs along the centre line from the lower to the upper end, y to the left seen from outside.
    """

    edge: Edge
    holes: tuple[Edge, ...] = ()

    @property
    def area(self) -> float:
        """Area of the wood [m2]: inside the edge, without the holes; exact for the splines."""
        return self.edge.area - sum(hole.area for hole in self.holes)

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y [m]."""
        rim = self._rings[0]
        (xmin, ymin), (xmax, ymax) = rim.min(axis=0), rim.max(axis=0)
        return float(xmin), float(ymin), float(xmax), float(ymax)

    @cached_property
    def polygon(self) -> shapely.Polygon:
        """The outline as a polygon with holes, for everything that need not know the last micrometre."""
        return shapely.Polygon(self._rings[0], self._rings[1:])

    @cached_property
    def _prepared(self) -> shapely.Polygon:
        """A copy of the polygon that answers quickly, to one thread at a time."""
        polygon = shapely.Polygon(self._rings[0], self._rings[1:])
        shapely.prepare(polygon)
        return polygon

    @cached_property
    def _rings(self) -> tuple[Floats, ...]:
        """The polygons (k, 2) [m] that stand for the edge, first, and for the holes."""
        return tuple(edge.polygon for edge in (self.edge, *self.holes))

    def contains(self, points: Floats) -> Bools:
        """Tell which of the points (n, 2) [m] lie on the wood, its edge included."""
        with _ONE_THREAD:
            return np.asarray(shapely.intersects_xy(self._prepared, points[:, 0], points[:, 1]), np.bool_)

    def spans(self, x: Floats) -> Floats:
        """Return the least and the greatest y (n, 2) [m] of the outer edge at each x (n,) [m]; nan outside.

        Exact on the polygon of the edge. Every side visits only the x that it covers.
        """
        order = np.argsort(x)
        a, b = self._rings[0], np.roll(self._rings[0], -1, axis=0)
        first = np.searchsorted(x[order], np.minimum(a[:, 0], b[:, 0]), side="left")
        counts = np.searchsorted(x[order], np.maximum(a[:, 0], b[:, 0]), side="right") - first
        side = np.repeat(np.arange(len(a)), counts)
        which = order[np.arange(len(side)) - np.repeat(np.cumsum(counts) - counts - first, counts)]
        run = np.where(b[side, 0] == a[side, 0], 1.0, b[side, 0] - a[side, 0])
        y = a[side, 1] + (x[which] - a[side, 0]) / run * (b[side, 1] - a[side, 1])
        spans = np.full((len(x), 2), np.nan)
        np.fmin.at(spans[:, 0], which, y)
        np.fmax.at(spans[:, 1], which, y)
        return spans

    def without_holes(self) -> "Outline":
        """Return the outline as it was before the holes were cut."""
        return Outline(self.edge)


def make_outline(edge: Edge, holes: Sequence[Edge] = ()) -> Outline:
    """Return the outline of a plate that can be made of wood.

    A plate is 60 to 1000 mm long and 20 to 600 mm wide. Panels may be longer across than along; an edge with
    a waist, as violins have, may not: it was turned by a quarter. Where an edge crosses itself by a tremor of the hand
    alone, its points are moved a little (`steadied`).

    Raises
    ------
    InputError
        If the edge or a hole crosses itself, the size is not that of a plate (inches, centimetres and metres
        are recognised), a plate with a waist lies across, or less than 1 mm of wood is left at a hole.
    """
    edge, *holes = (steadied(traced) for traced in (edge, *holes))
    outline = Outline(edge, tuple(holes))
    rim = check_edge(edge, outline._rings[0])
    check_turned(edge, rim)
    shapes = [check_hole(hole, ring, rim) for hole, ring in zip(holes, outline._rings[1:], strict=True)]
    for i, hole in enumerate(holes):
        for j in range(i):
            check_apart(hole, shapes[i], holes[j], shapes[j])
    return outline
