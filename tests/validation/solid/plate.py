"""A reference plate: exact edge, arch and thickness as functions, wood and bar."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats
from solver.plate.bar import Bar
from solver.plate.plate import Role
from solver.plate.wood import Wood
from tests.validation.solid.curves import Curve
from tests.validation.solid.jet import Jet, plan

Field = Callable[[Jet, Jet], Jet]
"""A function of the plan coordinates x and y [m]."""


@dataclass(frozen=True, eq=False)
class ReferencePlate:
    """Everything that defines a plate: edges, outer surface, thickness along its normal, wood, bar."""

    name: str
    edge: Curve
    arch: Field
    thickness: Field
    wood: Wood
    holes: tuple[Curve, ...] = ()
    bar: Bar | None = None
    role: Role = "panel"

    def surface(self, points: Floats) -> tuple[Floats, Floats]:
        """Places (n, 3) [m] of the outer surface over plan points (n, 2) [m], and its unit normals (n, 3)."""
        z = self.arch(*plan(points))
        normal = np.column_stack([-z.gradient, np.ones(len(points))])
        normal /= np.linalg.norm(normal, axis=1)[:, None]
        return np.column_stack([points, z.value]), normal

    def thickness_at(self, points: Floats) -> Floats:
        """Thickness (n,) [m] along the outer surface's normal."""
        return self.thickness(*plan(points)).value
