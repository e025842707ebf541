"""The plate as a camera sees it: its rim, and the height of either side."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from meshes.arch import Arch
from meshes.graduation import Graduation
from meshes.outline import Outline
from solver.arrays import Floats

_EVEN = 0.006
"""Share of the length by which a rim may miss its own mirror image and still look the same to a camera."""


@dataclass(frozen=True, eq=False)
class PlateForm:
    """A plate to be found on a photo: outline, outer surface, thickness."""

    outline: Outline
    arch: Arch
    graduation: Graduation

    @property
    def length(self) -> float:
        """The greater of length and width [m]."""
        low_x, low_y, high_x, high_y = self.outline.bounds
        return max(high_x - low_x, high_y - low_y)

    def rim(self, count: int) -> tuple[Floats, Floats]:
        """Return points (count, 3) [m] evenly along the edge and their outward directions in plan (count, 3)."""
        edge = self.outline.edge
        along = (np.arange(count) + 0.5) / count * edge.length
        plan, tangent = edge.at(along), edge.tangent(along)
        outward = np.column_stack([tangent[:, 1], -tangent[:, 0], np.zeros(count)])
        inside = self.outline.contains(plan + 1e-3 * outward[:, :2])
        outward[inside] *= -1.0
        return self.middle_surface(plan), outward

    def middle_surface(self, plan: Floats) -> Floats:
        """Return plan points (n, 2) in the middle of the wood (n, 3) [m]."""
        height = self.arch.at(plan).height - 0.5 * self.graduation.at(plan)
        return np.column_stack([plan, height])

    def side(self, plan: Floats, inside: bool) -> Floats:
        """Return plan points (n, 2) on the outer or the inner surface (n, 3) [m]."""
        height = self.arch.at(plan).height
        return np.column_stack([plan, height - self.graduation.at(plan) if inside else height])

    def look_alikes(self) -> Iterator[tuple[Floats, Floats]]:
        """Yield the turns (3, 3) and shifts (3,) in space after which the rim looks the same, other than none.

        Turned over about the centre line (seen from the other side), turned end for end, and both.
        """
        polygon = shapely.Polygon(self.outline.polygon.exterior)
        low_x, low_y, high_x, high_y = self.outline.bounds
        twice = np.array([low_x + high_x, low_y + high_y, 0.0])
        for signs in (1.0, -1.0, -1.0), (-1.0, -1.0, 1.0), (-1.0, 1.0, -1.0):
            turn = np.diag(signs)
            shift = np.where(np.array(signs) < 0, twice, 0.0)
            image = shapely.LinearRing(shapely.get_coordinates(polygon.exterior) * signs[:2] + shift[:2])
            if polygon.exterior.hausdorff_distance(image) < _EVEN * self.length:
                yield turn, shift
