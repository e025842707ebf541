"""Small plates to be thinned: an arched ellipse of spruce with a bar, a flat one of maple with a hole, coarsely meshed."""

from dataclasses import dataclass

import numpy as np

from meshes.arch import arch_from_function, flat_arch
from meshes.edge import Edge, edge_through
from meshes.graduation import graduation_from_function
from meshes.outline import make_outline
from meshes.removal import Removal
from meshes.triangulate import PlateMesh, triangulate
from solver.core.arrays import Floats
from solver.modal.assembly import ModalModel, assemble
from solver.modal.modes import Modes, modes_of
from solver.modal.shell import CubicMesh, cubic_mesh
from solver.plate.bar import Bar
from solver.plate.plate import Plate
from solver.plate.thinning import thinned
from solver.plate.wood import Wood

SPRUCE = Wood(420, 12e9, 0.85e9, 0.48e9, 0.72e9, 0.70e9, 0.036e9, 0.38, 0.44, 0.50)
MAPLE = Wood(640, 11.4e9, 1.7e9, 0.9e9, 1.25e9, 0.95e9, 0.28e9, 0.42, 0.46, 0.66, 0.05, 0.17)
"""Its rings turned 10 degrees and its grain 3."""

A, B, SIZE = 0.140, 0.080, 0.026
"""Half axes and element size [m]."""
BOUNDS = (-0.15, -0.09, 0.15, 0.09)
BAR = Bar(
    np.array([-0.100, 0.0185]),
    np.array([0.095, 0.0125]),
    8e-3,
    np.array([[0.0, 2.5e-3], [0.5, 9e-3], [1.0, 2.5e-3]]),
    SPRUCE,
)


@dataclass(frozen=True, eq=False)
class Meshed:
    """A plate on a mesh that stays while it is thinned."""

    plate: Plate
    mesh: PlateMesh
    cubic: CubicMesh
    model: ModalModel

    def modes(self, count: int) -> Modes:
        return modes_of(self.model, count)

    def after(self, removal: Removal, count: int = 8) -> Modes:
        """A full solve of the thinned plate."""
        return modes_of(assemble(thinned(self.plate, removal), self.mesh, self.cubic), count)


def arched_with_bar() -> Meshed:
    graduation = graduation_from_function(lambda p: 2.5e-3 + 1e-3 * _inside(p), BOUNDS)
    arch = arch_from_function(lambda p: 0.018 * _inside(p) ** 2, BOUNDS)
    outline = make_outline(_ellipse(A, B, "outline"))
    return meshed_plate(Plate("arched", "top", outline, arch, graduation, SPRUCE, BAR), SIZE)


def flat_with_hole() -> Meshed:
    graduation = graduation_from_function(lambda p: 3.2e-3 + 4e-3 * p[:, 0] + 0.02 * p[:, 1] ** 2, BOUNDS)
    outline = make_outline(_ellipse(A, B, "outline"), [_ellipse(0.03, 0.012, "hole")])
    return meshed_plate(Plate("flat", "panel", outline, flat_arch(), graduation, MAPLE), SIZE)


def meshed_plate(plate: Plate, size: float | None = None) -> Meshed:
    mesh = triangulate(plate.outline, None if plate.bar is None else plate.bar.footprint, size)
    cubic = cubic_mesh(mesh)
    return Meshed(plate, mesh, cubic, assemble(plate, mesh, cubic))


def _inside(points: Floats) -> Floats:
    return np.asarray(1 - (points[:, 0] / A) ** 2 - (points[:, 1] / B) ** 2)


def _ellipse(a: float, b: float, name: str) -> Edge:
    t = 2 * np.pi * np.arange(200) / 200
    return edge_through(np.column_stack([a * np.cos(t), b * np.sin(t)]), name)
