"""The outer surface as the shell sees it: tangents, normal and how the normal turns."""

from dataclasses import dataclass

import numpy as np

from meshes.arch import Arch
from solver.core.arrays import Floats, freeze


@dataclass(frozen=True, eq=False)
class Surface:
    """Geometry of ``X(x, y) = (x, y, z)`` at p points, derivatives taken with respect to plan x and y.

    ``tangents`` (p, 2, 3) [-]; ``normal`` (p, 3) outward unit vector; ``normal_change`` (p, 2, 3) [1/m].
    """

    tangents: Floats
    normal: Floats
    normal_change: Floats

    def __post_init__(self) -> None:
        freeze(
            self,
            tangents=((None, 2, 3), float),
            normal=((None, 3), float),
            normal_change=((None, 2, 3), float),
        )

    def area_factor(self, depth: Floats) -> Floats:
        """Area (p,) of the surface at ``depth`` (p,) [m] along the normal, per unit of plan area."""
        base = self.tangents + depth[:, None, None] * self.normal_change
        return np.asarray(np.einsum("pk,pk->p", self.normal, np.cross(base[:, 0], base[:, 1])))


def surface_at(arch: Arch, points: Floats) -> Surface:
    """Return the outer surface's geometry at plan points (p, 2).

    With ``N = (-z_x, -z_y, 1)`` the unit normal is ``n = N/|N|`` and ``n_a = (N_a - n (n . N_a))/|N|``.
    """
    there = arch.at(points)
    p = len(points)
    tangents = np.zeros((p, 2, 3))
    tangents[:, 0, 0] = tangents[:, 1, 1] = 1.0
    tangents[:, :, 2] = there.gradient
    upright = np.column_stack([-there.gradient, np.ones(p)])
    length = np.linalg.norm(upright, axis=1)
    normal = upright / length[:, None]
    turning = np.zeros((p, 2, 3))
    turning[:, :, :2] = -there.hessian
    turning -= np.einsum("pk,pak,pl->pal", normal, turning, normal)
    return Surface(tangents, normal, turning / length[:, None, None])
