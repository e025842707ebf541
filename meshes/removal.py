"""Wood taken from the inside of a plate: hollows, and the graduation that is left."""

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Protocol

import numpy as np

from meshes.graduation import Graduation
from meshes.smooth_map import SmoothMap
from solver.core.arrays import Bools, Floats, Ints, freeze

_SPECK = 1e-18
"""Square [m2] of a length below which a path stands still."""


class Removal(Protocol):
    """A depth of wood to be taken, as a smooth function of the plan."""

    def at(self, points: Floats) -> Floats:
        """Return the depth (n,) [m] along the normal at plan points (n, 2) [m]."""
        ...

    def gradient(self, points: Floats) -> Floats:
        """Return its plan gradient (n, 2) [-]."""
        ...


@dataclass(frozen=True, eq=False)
class Hollow:
    """A round hollow: ``depth (1 - (d/radius)^2)^2`` at the distance d from its ``centre`` (2,), nothing outside.

    Lengths in m. It leaves the plate without an edge: depth and slope go to nought at the radius.
    """

    centre: Floats
    radius: float
    depth: float

    def __post_init__(self) -> None:
        freeze(self, centre=((2,), float))

    def at(self, points: Floats) -> Floats:
        """Return the depth (n,) [m] at plan points (n, 2) [m]."""
        return np.asarray(self.depth * self._inside(points) ** 2)

    def gradient(self, points: Floats) -> Floats:
        """Return its plan gradient (n, 2) [-]: ``-4 depth (1 - (d/radius)^2) (x - centre) / radius^2``."""
        steepness = -4 * self.depth / self.radius**2 * self._inside(points)
        return np.asarray(steepness[:, None] * (points - self.centre))

    @property
    def volume(self) -> float:
        """Wood [m3] that it takes from a flat plate: a third of the cylinder."""
        return float(np.pi) * self.radius**2 * self.depth / 3

    def _inside(self, points: Floats) -> Floats:
        return np.asarray(np.maximum(0.0, 1 - ((points - self.centre) ** 2).sum(axis=1) / self.radius**2))


@dataclass(frozen=True, eq=False)
class Stroke:
    """One stroke of a scraper along a ``path`` (k, 2): ``depth (1 - (d/radius)^2)^2`` at the distance d from the path.

    Lengths in m. Where the path passes twice it takes no more than once: that would be another stroke. A path of one point
    is a `Hollow`.
    """

    path: Floats
    radius: float
    depth: float

    def __post_init__(self) -> None:
        freeze(self, path=((None, 2), float))

    def at(self, points: Floats) -> Floats:
        """Return the depth (n,) [m] at plan points (n, 2) [m]."""
        reached, off = self._from_path(points)
        depth = np.zeros(len(points))
        depth[reached] = self.depth * self._inside(off) ** 2
        return depth

    def gradient(self, points: Floats) -> Floats:
        """Return its plan gradient (n, 2) [-]: ``-4 depth (1 - (d/radius)^2) (x - nearest) / radius^2``."""
        reached, off = self._from_path(points)
        slope = np.zeros((len(points), 2))
        slope[reached] = (-4 * self.depth / self.radius**2 * self._inside(off))[:, None] * off
        return slope

    def _from_path(self, points: Floats) -> tuple[Ints, Floats]:
        """Return which points (m,) lie round the path, and the vector (m, 2) to each of them from its nearest point."""
        reached = self._round(self.path, points)
        near = points[reached]
        found = near - self.path[0]
        for start, end in pairwise(self.path):
            mine = self._round(np.stack([start, end]), near)
            run, off = end - start, near[mine] - start
            share = np.clip(off @ run / max(run @ run, _SPECK), 0.0, 1.0)
            off = off - share[:, None] * run
            closer = _square(off) < _square(found[mine])
            found[mine[closer]] = off[closer]
        return reached, found

    def _round(self, path: Floats, points: Floats) -> Ints:
        """Return which points (m,) lie in the box a radius round a path: column by column, a stroke asks it often."""
        (xmin, ymin), (xmax, ymax) = path.min(axis=0) - self.radius, path.max(axis=0) + self.radius
        x, y = points[:, 0], points[:, 1]
        return np.flatnonzero((x > xmin) & (x < xmax) & (y > ymin) & (y < ymax))

    def _inside(self, off: Floats) -> Floats:
        return np.asarray(np.maximum(0.0, 1 - _square(off) / self.radius**2))


def _square(off: Floats) -> Floats:
    """Return the square (n,) of the length of each vector (n, 2)."""
    return np.asarray(off[:, 0] ** 2 + off[:, 1] ** 2)


@dataclass(frozen=True, eq=False)
class SmoothRemoval:
    """A removal of even smoothness, given by the ``depth`` [m]."""

    depth: SmoothMap

    def at(self, points: Floats) -> Floats:
        """Return the depth (n,) [m] at plan points (n, 2) [m]."""
        return self.depth.value(points)

    def gradient(self, points: Floats) -> Floats:
        """Return its plan gradient (n, 2) [-]."""
        return self.depth.gradient(points)

    @property
    def is_empty(self) -> bool:
        """Tell whether nothing is taken anywhere."""
        return not self.depth.coefficients.any()

    def scaled(self, share: float) -> "SmoothRemoval":
        """Return a share of it."""
        return SmoothRemoval(
            SmoothMap(self.depth.x_knots, self.depth.y_knots, share * self.depth.coefficients)
        )


@dataclass(frozen=True, eq=False)
class Together:
    """Several removals on the same plate, one after the other; where they overlap their depths add."""

    parts: tuple[Removal, ...]

    def at(self, points: Floats) -> Floats:
        """Return the depth (n,) [m] at plan points (n, 2) [m]."""
        return sum((part.at(points) for part in self.parts), np.zeros(len(points)))

    def gradient(self, points: Floats) -> Floats:
        """Return its plan gradient (n, 2) [-]."""
        return sum((part.gradient(points) for part in self.parts), np.zeros((len(points), 2)))


@dataclass(frozen=True, eq=False)
class Sparing:
    """A removal that leaves the wood inside a strip, whose corners are ``strip`` (4, 2) in order round it."""

    removal: Removal
    strip: Floats

    def __post_init__(self) -> None:
        freeze(self, strip=((4, 2), float))

    def at(self, points: Floats) -> Floats:
        """Return the depth (n,) [m] at plan points (n, 2) [m]."""
        return np.where(self._spared(points), 0.0, self.removal.at(points))

    def gradient(self, points: Floats) -> Floats:
        """Return its plan gradient (n, 2) [-]; the step at the strip's edge has none."""
        return np.where(self._spared(points)[:, None], 0.0, self.removal.gradient(points))

    def _spared(self, points: Floats) -> Bools:
        origin = self.strip[0]
        sides = np.stack([self.strip[1] - origin, self.strip[3] - origin])
        share = (points - origin) @ sides.T / (sides**2).sum(axis=1)
        return np.asarray(((share >= 0) & (share <= 1)).all(axis=1))


@dataclass(frozen=True, eq=False)
class ThinnedGraduation(Graduation):
    """A graduation less what was taken since; the readings are those from before."""

    removal: Removal = field(kw_only=True)

    def at(self, points: Floats) -> Floats:
        """Return the thickness (n,) [m] that is left at plan points (n, 2) [m]."""
        return super().at(points) - self.removal.at(points)

    def gradient(self, points: Floats) -> Floats:
        """Return its slope (n, 2) in plan at plan points (n, 2) [m]."""
        return super().gradient(points) - self.removal.gradient(points)


def thinned_graduation(graduation: Graduation, removal: Removal) -> ThinnedGraduation:
    """Return what is left of a graduation when ``removal`` was taken from the inside."""
    before = removal
    if isinstance(graduation, ThinnedGraduation):
        before = Together((graduation.removal, removal))
    return ThinnedGraduation(graduation.thickness, graduation.readings, graduation.reach, removal=before)
