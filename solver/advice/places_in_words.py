"""Where on a plate a place lies, in the words of the bench: which bout, which side, near what."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from meshes.outline import Outline
from solver.arrays import Floats
from solver.units import MM

_STATIONS = 201
_WAIST = (0.35, 0.75)
"""Shares of the length between which a waist is looked for."""
_LEAST_WAIST = 0.93
"""A waist is at most this share as wide as the narrower of the bouts."""
_END = 0.10
"""Share of the length that counts as an end."""
_CHANNEL = 0.045
"""Share of the greatest width that lies in the channel along the edge: 9 mm on a violin."""
_BESIDE_HOLE = 0.035
_MIDDLE = 0.07
"""Share of the greatest width on either side of the centre line that belongs to it."""


@dataclass(frozen=True, eq=False)
class PlaceWords:
    """Names places on a plate.

    ``ends`` are the names of the upper and the lower end, ``sides`` of the left (y > 0) and the right; ``rim`` says where a
    place near the edge lies. Borders between the parts are common practice, no source.
    """

    outline: Outline
    ends: tuple[str, str]
    sides: tuple[str, str]
    rim: str = "in the channel"

    def at(self, point: Floats) -> str:
        """Return where the plan point (2,) [m] lies, the large part first: "lower bout, bass side, in the channel"."""
        parts = [self._part(point[0]), self._across(point), self._near(point)]
        return ", ".join(part for part in parts if part)

    def _part(self, x: float) -> str:
        """Return the end, or which of the three parts along the plate."""
        xmin, _, xmax, _ = self.outline.bounds
        share = (x - xmin) / (xmax - xmin)
        if share < _END or share > 1 - _END:
            return self.ends[0] if share > 0.5 else self.ends[1]
        if self._waist is None:
            third = ("lower third", "middle third", "upper third")
            return third[min(int(3 * share), 2)]
        low, high = self._waist
        return "lower bout" if x < low else "upper bout" if x > high else "waist"

    def _across(self, point: Floats) -> str:
        _, ymin, _, ymax = self.outline.bounds
        off = point[1] - 0.5 * (ymin + ymax)
        if abs(off) <= _MIDDLE * (ymax - ymin):
            return "on the centre line"
        return self.sides[0] if off > 0 else self.sides[1]

    def _near(self, point: Floats) -> str:
        """Return what the place is near to or between, empty where nothing is."""
        width = self.outline.bounds[3] - self.outline.bounds[1]
        place = shapely.Point(point)
        if self.outline.polygon.exterior.distance(place) < _CHANNEL * width:
            return self.rim
        if any(ring.distance(place) < _BESIDE_HOLE * width for ring in self.outline.polygon.interiors):
            return "beside the hole"
        return "between the holes" if self._between_holes(point) else ""

    def _between_holes(self, point: Floats) -> bool:
        """Tell whether a hole lies to the left and another to the right at the height of the place."""
        rings = [np.asarray(ring.coords) for ring in self.outline.polygon.interiors]
        level = [ring for ring in rings if ring[:, 0].min() <= point[0] <= ring[:, 0].max()]
        left = any(ring[:, 1].mean() > point[1] for ring in level)
        return left and any(ring[:, 1].mean() < point[1] for ring in level)

    @cached_property
    def _waist(self) -> tuple[float, float] | None:
        """The x [m] between which the plate is nearer in width to its waist than to its bouts, None without a waist."""
        xmin, _, xmax, _ = self.outline.bounds
        shares = np.linspace(0, 1, _STATIONS)[1:-1]
        x = xmin + shares * (xmax - xmin)
        width = np.diff(self.outline.spans(x), axis=1)[:, 0]
        inner = np.flatnonzero((shares > _WAIST[0]) & (shares < _WAIST[1]))
        waist = int(inner[width[inner].argmin()])
        lower, upper = width[:waist].max(), width[waist:].max()
        if width[waist] > _LEAST_WAIST * min(lower, upper):
            return None
        below = np.flatnonzero(width[:waist] > 0.5 * (width[waist] + lower))
        above = np.flatnonzero(width[waist:] > 0.5 * (width[waist] + upper))
        return float(x[below[-1]]), float(x[waist + above[0]])


def in_mm(point: Floats) -> str:
    """Write a plan point (2,) [m] as the maker finds it with a ruler."""
    return f"x {point[0] / MM:.0f}, y {point[1] / MM:.0f} mm"
