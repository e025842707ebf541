"""An arch that is a little higher or fuller than it was drawn or read: the ways in which arches err as a whole."""

from dataclasses import dataclass, replace

import numpy as np

from meshes.surface import Arch, SurfacePoints
from solver.core.arrays import Floats
from solver.plate.plate import Plate


@dataclass(frozen=True)
class ArchForm:
    """By how much an arch differs from the one described: logarithm of its rise, fullness across and along.

    A fullness of 0.1 lifts the surface by 0.025 of the rise where it is half as high as the ridge (across), or the ridge
    where it is half as high as the crest (along); the edge and the crest stay.
    """

    rise: float = 0.0
    across: float = 0.0
    along: float = 0.0


@dataclass(frozen=True, eq=False)
class ReshapedArch:
    """``z0 + e^rise [s + (across/H) s (c - s) + (along/H) s (H - c)]`` with s = z - z0 over the edge's level.

    c(x) is the ridge, the height over the centre line at ``middle`` [m]; ``crest`` H [m] the greatest height; all of the
    ``base`` arch over its ``level`` z0 [m].
    """

    base: Arch
    form: ArchForm
    level: float
    crest: float
    middle: float

    def at(self, points: Floats) -> SurfacePoints:
        """Return the surface at plan points (n, 2) [m]."""
        there = self.base.at(points)
        ridge = self.base.at(np.column_stack([points[:, 0], np.full(len(points), self.middle)]))
        s, ds, dds = there.height - self.level, there.gradient, there.hessian
        c = ridge.height - self.level
        dc = ridge.gradient * [1.0, 0.0]
        ddc = ridge.hessian * [[1.0, 0.0], [0.0, 0.0]]
        plain, mixed, square = self._weights()
        sc = _outer(ds, dc)
        height = plain * s + mixed * s * c + square * s**2
        gradient = (plain + mixed * c + 2 * square * s)[:, None] * ds + mixed * s[:, None] * dc
        hessian = (plain + mixed * c + 2 * square * s)[:, None, None] * dds + 2 * square * _outer(ds, ds)
        hessian += mixed * (sc + np.swapaxes(sc, 1, 2) + s[:, None, None] * ddc)
        return SurfacePoints(self.level + height, gradient, hessian)

    def _weights(self) -> tuple[float, float, float]:
        """Factors of s, of s c and of s squared."""
        up, across, along = float(np.exp(self.form.rise)), self.form.across, self.form.along
        return up * (1 + along), up * (across - along) / self.crest, -up * across / self.crest


def _outer(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[:, :, None] * b[:, None, :])


def is_arched(plate: Plate) -> bool:
    """Tell whether the plate has an arch that could be of another form."""
    return _rise(plate)[1] > 0.0


def with_arch_form(plate: Plate, form: ArchForm) -> Plate:
    """Return the plate with its arch of another form; the plate itself where it is flat."""
    level, crest = _rise(plate)
    if crest == 0.0 or form == ArchForm():
        return plate
    _, low, _, high = plate.outline.bounds
    return replace(plate, arch=ReshapedArch(plate.arch, form, level, crest, 0.5 * (low + high)))


def _rise(plate: Plate) -> tuple[float, float]:
    """Return the level of the edge [m], the mean along it, and how far the crest of the ridge rises over it [m]."""
    left, low, right, high = plate.outline.bounds
    ridge = np.column_stack([np.linspace(left, right, 200), np.full(200, 0.5 * (low + high))])
    edge = plate.arch.at(plate.outline.edge.knots).height
    level = float(edge.mean())
    return level, max(float(plate.arch.at(ridge).height.max()) - level, 0.0)
