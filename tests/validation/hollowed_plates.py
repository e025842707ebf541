"""Reference plates thinned in one place, for the change that a shaving makes."""

from dataclasses import dataclass, replace

import numpy as np

from meshes.removal import Hollow
from solver.core.units import MM
from tests.validation.solid.jet import Jet
from tests.validation.solid.plate import ReferencePlate
from tests.validation.solid_plates import PLATES


@dataclass(frozen=True)
class Hollowed:
    """A reference plate and a round hollow of it, ``depth (1 - (d/radius)^2)^2``, its outer surface as it was; mm."""

    plate: str
    x_mm: float
    y_mm: float
    radius_mm: float
    depth_mm: float

    @property
    def name(self) -> str:
        """The plate and the place."""
        return f"{self.plate} at {self.x_mm:g},{self.y_mm:g}"

    @property
    def before(self) -> ReferencePlate:
        """The plate before."""
        return PLATES[self.plate]

    @property
    def after(self) -> ReferencePlate:
        """The plate after, its thickness still a formula."""
        before, radius = self.before, self.radius_mm * MM

        def thickness(x: Jet, y: Jet) -> Jet:
            u, v = x - self.x_mm * MM, y - self.y_mm * MM
            inside = _positive_part(1.0 - (u * u + v * v) * (1 / radius**2))
            return before.thickness(x, y) - self.depth_mm * MM * (inside * inside)

        return replace(before, name=self.name, thickness=thickness)

    @property
    def hollow(self) -> Hollow:
        """The same hollow as platewright takes it."""
        return Hollow(np.array([self.x_mm, self.y_mm]) * MM, self.radius_mm * MM, self.depth_mm * MM)


def _positive_part(p: Jet) -> Jet:
    inside = (p.value > 0).astype(float)
    return Jet(inside * p.value, inside[:, None] * p.gradient, inside[:, None, None] * p.hessian)


HOLLOWED = {
    h.name: h
    for h in (
        Hollowed("ellipse-slots", 60, 10, 40, 0.6),
        Hollowed("ellipse-slots", -110, -25, 35, 0.5),
        Hollowed("violin-top", 85, 45, 35, 0.5),
        Hollowed("violin-top", 195, 0, 30, 0.5),
        Hollowed("violin-top", 285, -40, 30, 0.5),
        Hollowed("violin-back", 180, 15, 45, 1.0),
        Hollowed("violin-back", 60, -45, 35, 0.5),
    )
}
"""Places at the bouts, between the holes and in the waist, no deeper than a maker takes between two measurements."""
