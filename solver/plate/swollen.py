"""A plate that has taken up or given off water: the same plate, wider and thicker, or narrower and thinner."""

from dataclasses import dataclass, replace

import numpy as np

from meshes.edge import Edge
from meshes.graduation import Graduation
from meshes.outline import Outline
from meshes.removal import Removal, ThinnedGraduation, thinned_graduation
from meshes.smooth_map import SmoothMap
from meshes.surface import Arch, SurfacePoints
from solver.core.arrays import Floats, freeze
from solver.plate.bar import Bar
from solver.plate.plate import Plate


@dataclass(frozen=True, eq=False)
class SwollenArch:
    """An arch stretched by the factors ``scale`` (3,) along x, y and z."""

    base: Arch
    scale: Floats

    def __post_init__(self) -> None:
        freeze(self, scale=((3,), float))

    def at(self, points: Floats) -> SurfacePoints:
        """Return the surface at plan points (n, 2) [m]."""
        plan, up = self.scale[:2], self.scale[2]
        there = self.base.at(points / plan)
        return SurfacePoints(
            up * there.height, up * there.gradient / plan, up * there.hessian / np.outer(plan, plan)
        )


@dataclass(frozen=True, eq=False)
class SwollenRemoval:
    """What was taken from a plate before it swelled, stretched with it by the factors ``scale`` (3,)."""

    base: Removal
    scale: Floats

    def __post_init__(self) -> None:
        freeze(self, scale=((3,), float))

    def at(self, points: Floats) -> Floats:
        """Return the depth (n,) [m] at plan points (n, 2) [m]."""
        return np.asarray(self.scale[2] * self.base.at(points / self.scale[:2]))

    def gradient(self, points: Floats) -> Floats:
        """Return its plan gradient (n, 2) [-]."""
        plan, up = self.scale[:2], self.scale[2]
        return np.asarray(up * self.base.gradient(points / plan) / plan)


def swollen_plate(plate: Plate, scale: Floats) -> Plate:
    """Return the plate with length, width and height multiplied by ``scale`` (3,): outline, arch, thickness, bar.

    Wood is carved, not bent: it swells by the same share everywhere, along axes fixed in space. The thickness along the
    normal is multiplied like the height, which on a slope of 20 degrees is off by an eighth of the difference of the two.
    """
    plan, up = scale[:2], float(scale[2])
    edge, *holes = (_edge(edge, plan) for edge in (plate.outline.edge, *plate.outline.holes))
    return replace(
        plate,
        outline=Outline(edge, tuple(holes)),
        arch=SwollenArch(plate.arch, scale),
        graduation=_graduation(plate.graduation, scale),
        bar=None if plate.bar is None else _bar(plate.bar, plan, up),
    )


def _edge(edge: Edge, plan: Floats) -> Edge:
    traced = None if edge.traced is None else edge.traced * plan
    return Edge(edge.knots * plan, edge.corners, edge.name, traced)


def _graduation(graduation: Graduation, scale: Floats) -> Graduation:
    flat = graduation.thickness
    x, y, up = scale
    stretched = SmoothMap(flat.x_knots * x, flat.y_knots * y, flat.coefficients * up)
    swollen = Graduation(stretched, graduation.readings * scale, graduation.reach)
    if not isinstance(graduation, ThinnedGraduation):
        return swollen
    return thinned_graduation(swollen, SwollenRemoval(graduation.removal, scale))


def _bar(bar: Bar, plan: Floats, up: float) -> Bar:
    return replace(
        bar,
        start=bar.start * plan,
        end=bar.end * plan,
        width=bar.width * float(plan[1]),
        profile=bar.profile * [1.0, up],
    )
