"""The bass bar: a strip of wood glued under the plate along a slanted centre line."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from solver.core.arrays import Floats, freeze
from solver.plate.wood import Wood

if TYPE_CHECKING:
    from scipy.interpolate import PchipInterpolator


@dataclass(frozen=True, eq=False)
class Bar:
    """A bar of one width whose height tapers along its length.

    ``start``, ``end`` (2,) [m] are the ends of the centre line in plan; ``width`` [m]; ``profile`` (k, 2) has the
    fraction of the length and the height below the plate's inside [m], joined by a shape-preserving cubic.
    """

    start: Floats
    end: Floats
    width: float
    profile: Floats
    wood: Wood

    def __post_init__(self) -> None:
        freeze(self, start=((2,), float), end=((2,), float), profile=((None, 2), float))

    @property
    def length(self) -> float:
        """Length of the centre line in plan [m]."""
        return float(np.linalg.norm(self.end - self.start))

    @property
    def direction(self) -> Floats:
        """Unit vector (2,) in plan from start to end."""
        return np.asarray((self.end - self.start) / self.length)

    @property
    def footprint(self) -> Floats:
        """Corners (4, 2) of the glued strip in plan [m], in order round it."""
        t = self.direction
        side = 0.5 * self.width * np.array([-t[1], t[0]])
        return np.array([self.start - side, self.end - side, self.end + side, self.start + side])

    def height_at(self, points: Floats) -> Floats:
        """Height (n,) [m] below the plate's inside at plan points (n, 2), by their place along the bar."""
        return np.asarray(self._taper()(self.fraction(points)))

    def height_gradient(self, points: Floats) -> Floats:
        """Plan gradient (n, 2) [-] of the height at plan points (n, 2)."""
        change = self._taper().derivative()(self.fraction(points)) / self.length
        return np.asarray(change[:, None] * self.direction)

    def fraction(self, points: Floats) -> Floats:
        """Place (n,) of plan points (n, 2) along the bar, 0 at its start and 1 at its end."""
        return np.clip((points - self.start) @ self.direction / self.length, 0.0, 1.0)

    def _taper(self) -> "PchipInterpolator":
        from scipy.interpolate import PchipInterpolator

        return PchipInterpolator(self.profile[:, 0], self.profile[:, 1])
