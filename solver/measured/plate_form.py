"""The plate as a camera sees it: its rim, and the height of either side."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from meshes.arch import Arch
from meshes.graduation import Graduation
from meshes.outline import Outline
from solver.core.arrays import Floats

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

    def rim(self, count: int, inside: bool) -> tuple[Floats, Floats]:
        """Return points (count, 3) [m] evenly along the edge and their outward directions in plan (count, 3).

        They lie on the side that is seen: a camera above the plate sees no more of its wall than that edge.
        """
        edge = self.outline.edge
        along = (np.arange(count) + 0.5) / count * edge.length
        plan, tangent = edge.at(along), edge.tangent(along)
        outward = np.column_stack([tangent[:, 1], -tangent[:, 0], np.zeros(count)])
        inward = self.outline.contains(plan + 1e-3 * outward[:, :2])
        outward[inward] *= -1.0
        return self.side(plan, inside), outward

    def side(self, plan: Floats, inside: bool) -> Floats:
        """Return plan points (n, 2) on the outer or the inner surface (n, 3) [m]."""
        height = self.arch.at(plan).height
        return np.column_stack([plan, height - self.graduation.at(plan) if inside else height])

    @cached_property
    def look_alikes(self) -> tuple[tuple[Floats, Floats], ...]:
        """The turns (3, 3) and shifts (3,) in space after which the rim looks the same, other than none.

        Turned over about the centre line (seen from the other side), turned end for end, and both.
        """
        rim = self.outline.edge.sampled(0.004 * self.length)
        low_x, low_y, high_x, high_y = self.outline.bounds
        faces = [float(self.side(rim, inside)[:, 2].mean()) for inside in (False, True)]
        twice = np.array([low_x + high_x, low_y + high_y, sum(faces)])
        ring, found = shapely.LinearRing(rim), []
        for signs in np.array([(1.0, -1.0, -1.0), (-1.0, -1.0, 1.0), (-1.0, 1.0, -1.0)]):
            shift = np.where(signs < 0, twice, 0.0)
            off = shapely.distance(ring, shapely.points(rim * signs[:2] + shift[:2]))
            if off.max() < _EVEN * self.length:
                found.append((np.diag(signs), shift))
        return tuple(found)
