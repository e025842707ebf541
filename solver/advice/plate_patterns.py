"""The patterns that a plate can show, computed."""

from dataclasses import dataclass

import numpy as np
from threadpoolctl import threadpool_limits

from meshes.triangulate import triangulate
from solver.modal.assembly import ModalModel, assemble
from solver.modal.modes import Modes, modes_of
from solver.modal.shape_change import ShapeChange, shape_change
from solver.modal.shell import cubic_mesh
from solver.plate.plate import Plate

SHAPES = 40
"""Modes in which a change of shape is described; the first of them are those that a pattern may show."""


@dataclass(frozen=True, eq=False)
class PlatePatterns:
    """A plate solved for its first 40 modes."""

    model: ModalModel
    modes: Modes

    @property
    def plate(self) -> Plate:
        """The plate."""
        return self.model.plate

    @property
    def size(self) -> float:
        """The square root of the plate's area [m]."""
        return float(np.sqrt(self.plate.outline.area))

    def shape_change(self, index: int) -> ShapeChange:
        """Return what thinning does to the shape of a mode."""
        with threadpool_limits(1, user_api="blas"):
            return shape_change(self.model, self.modes, index)


def plate_patterns(plate: Plate, size: float | None = None) -> PlatePatterns:
    """Return the plate solved; ``size`` is the element size [m] (default: by need)."""
    mesh = triangulate(plate.outline, None if plate.bar is None else plate.bar.footprint, size)
    with threadpool_limits(1, user_api="blas"):
        model = assemble(plate, mesh, cubic_mesh(mesh))
        return PlatePatterns(model, modes_of(model, SHAPES))
