"""Where on a plate a place lies, in the words of the bench: which bout, which side, near what."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from meshes.outline import Outline
from solver.core.arrays import Bools, Floats
from solver.core.units import MM

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

_BOUTS = ("lower bout", "waist", "upper bout")
_THIRDS = ("lower third", "middle third", "upper third")
_CENTRE, _BESIDE, _BETWEEN = "on the centre line", "beside the hole", "between the holes"
_SMALL_WORDS = ("in the ", "on the ", "at the ", "the ")


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
        return ", ".join(word for word in self.words if self.covers((word,), point[None])[0])

    @property
    def words(self) -> tuple[str, ...]:
        """All words that name a part of this plate, in the order in which they are said."""
        upper, lower = self.ends
        middle = _THIRDS if self._waist is None else _BOUTS
        near = (_BESIDE, _BETWEEN) if self.outline.holes else ()
        return (lower, *middle, upper, _CENTRE, *self.sides, self.rim, *near)

    def zone(self, text: str) -> tuple[str, ...] | None:
        """Return the words of a zone as written by a person, "Channel" or "lower bout, bass side"; None if unknown."""
        known = {form: word for word in self.words for form in (word, _short(word))}
        found = [known.get(_short(" ".join(part.lower().split()))) for part in text.split(",")]
        words = tuple(word for word in found if word is not None)
        return words if len(words) == len(found) else None

    def covers(self, zone: tuple[str, ...], points: Floats) -> Bools:
        """Tell which plan points (n, 2) [m] lie where all words of a zone hold, (n,)."""
        return np.asarray(np.all([self._holds(word, points) for word in zone], axis=0))

    def _holds(self, word: str, points: Floats) -> Bools:
        if word in (self.rim, _BESIDE, _BETWEEN):
            return self._near(word, points)
        _, ymin, _, ymax = self.outline.bounds
        off = points[:, 1] - 0.5 * (ymin + ymax)
        central = np.abs(off) <= _MIDDLE * (ymax - ymin)
        if word == _CENTRE:
            return np.asarray(central)
        if word in self.sides:
            return np.asarray(~central & ((off > 0) == (word == self.sides[0])))
        return self._along(word, points[:, 0])

    def _along(self, word: str, x: Floats) -> Bools:
        """Tell where the end, or one of the three parts along the plate, lies."""
        xmin, _, xmax, _ = self.outline.bounds
        share = (x - xmin) / (xmax - xmin)
        upper, lower = share > 1 - _END, share < _END
        if word in self.ends:
            return np.asarray(upper if word == self.ends[0] else lower)
        low, high = (xmin + k * (xmax - xmin) / 3 for k in (1, 2)) if self._waist is None else self._waist
        part = np.where(x < low, 0, np.where(x > high, 2, 1))
        named = (_THIRDS if self._waist is None else _BOUTS).index(word)
        return np.asarray(~upper & ~lower & (part == named))

    def _near(self, word: str, points: Floats) -> Bools:
        """Tell where the edge or a hole is near, or there are holes on either side; the first of these that holds."""
        width = self.outline.bounds[3] - self.outline.bounds[1]
        edge, holes = self._edges
        rim = shapely.dwithin(edge, shapely.points(points), _CHANNEL * width)
        if word == self.rim:
            return np.asarray(rim)
        beside = shapely.dwithin(holes, shapely.points(points), _BESIDE_HOLE * width)
        return np.asarray(~rim & (beside if word == _BESIDE else ~beside & self._between_holes(points)))

    def _between_holes(self, points: Floats) -> Bools:
        """Tell where a hole lies to the left and another to the right at the height of a place."""
        left, right = np.zeros((2, len(points)), bool)
        for ring in (np.asarray(ring.coords) for ring in self.outline.polygon.interiors):
            level = (ring[:, 0].min() <= points[:, 0]) & (points[:, 0] <= ring[:, 0].max())
            left |= level & (ring[:, 1].mean() > points[:, 1])
            right |= level & (ring[:, 1].mean() < points[:, 1])
        return np.asarray(left & right)

    @cached_property
    def _edges(self) -> tuple[BaseGeometry, BaseGeometry]:
        """The outer edge and those of the holes, made ready for many questions."""
        wood = self.outline.polygon
        edges = (shapely.LineString(wood.exterior), shapely.MultiLineString([*wood.interiors]))
        shapely.prepare(edges)
        return edges

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


def _short(word: str) -> str:
    """Return a word as a maker may say it: "channel" for "in the channel", "beside the holes" for one of them."""
    for small in _SMALL_WORDS:
        word = word.removeprefix(small)
    return word.replace("holes", "hole")


def in_mm(point: Floats) -> str:
    """Write a plan point (2,) [m] as the maker finds it with a ruler."""
    return f"x {point[0] / MM:.0f}, y {point[1] / MM:.0f} mm"
