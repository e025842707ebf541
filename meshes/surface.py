"""The outer surface of a plate: a smooth height over the plan, with its slopes and curvatures."""

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from meshes.smooth_map import Bounds, Function, SmoothMap, map_of_function
from solver.core.arrays import Floats, freeze
from solver.core.units import MM

FUNCTION_STEP = 2.0 * MM


@dataclass(frozen=True, eq=False)
class SurfacePoints:
    """The outer surface z(x, y) at n places.

    ``height`` (n,) [m], ``gradient`` (n, 2) [-], ``hessian`` (n, 2, 2) [1/m].
    """

    height: Floats
    gradient: Floats
    hessian: Floats

    def __post_init__(self) -> None:
        freeze(
            self,
            height=((None,), float),
            gradient=((None, 2), float),
            hessian=((None, 2, 2), float),
        )


class Arch(Protocol):
    """The outer surface of a plate, twice continuously differentiable."""

    def at(self, points: Floats) -> SurfacePoints:
        """Return the surface at plan points (n, 2) [m]."""
        ...


@dataclass(frozen=True, eq=False)
class MappedArch:
    """An arch whose height is a smooth map."""

    height: SmoothMap

    def at(self, points: Floats) -> SurfacePoints:
        """Return the surface at plan points (n, 2) [m]."""
        return SurfacePoints(
            self.height.value(points), self.height.gradient(points), self.height.hessian(points)
        )


@dataclass(frozen=True)
class FlatArch:
    """The outer surface of a flat plate: z = 0."""

    def at(self, points: Floats) -> SurfacePoints:
        """Return the surface at plan points (n, 2) [m]."""
        n = len(points)
        return SurfacePoints(np.zeros(n), np.zeros((n, 2)), np.zeros((n, 2, 2)))


def flat_arch() -> Arch:
    """Return the outer surface of a flat plate."""
    return FlatArch()


def arch_from_function(height: Function, bounds: Bounds, step: float = FUNCTION_STEP) -> Arch:
    """Return the arch z = height(points) [m], given as a formula, over a rectangle."""
    return MappedArch(map_of_function(height, bounds, step))


@dataclass(frozen=True, eq=False)
class KeptArch:
    """An arch that keeps what it was asked, for plates that are solved on one mesh again and again."""

    base: Arch
    _kept: dict[bytes, SurfacePoints] = field(default_factory=dict, repr=False)

    def at(self, points: Floats) -> SurfacePoints:
        """Return the surface at plan points (n, 2) [m]."""
        key = points.tobytes()
        if key not in self._kept:
            self._kept[key] = self.base.at(points)
        return self._kept[key]
