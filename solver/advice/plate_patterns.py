"""The patterns that a plate can show, computed."""

from dataclasses import dataclass

import numpy as np
from threadpoolctl import threadpool_limits

from solver.advice.tone_response import MeshedPlate, meshed
from solver.modal.assembly import ModalModel
from solver.modal.modes import Modes, modes_of
from solver.modal.shape_change import ShapeChange, shape_change
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
    on = meshed(plate, size)
    with threadpool_limits(1, user_api="blas"):
        model = on.model(on.plate)
        return PlatePatterns(model, modes_of(model, SHAPES))


@dataclass(frozen=True, eq=False)
class KnownShapes:
    """The first 40 ``modes`` of a plate, and its mesh: what of `PlatePatterns` is small enough to be kept and handed on."""

    on: MeshedPlate
    modes: Modes

    def patterns(self) -> PlatePatterns:
        """Return the plate as `plate_patterns` does, without solving it again."""
        with threadpool_limits(1, user_api="blas"):
            return PlatePatterns(self.on.model(self.on.plate), self.modes)
