"""Numbers on the plan, placed where they can be read: not on one another, on marks or over an edge."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from solver.core.arrays import Floats
from solver.viewer.sheet.contours import Band

_LETTER, _AIR = 0.64, 0.4
"""Width of a letter, and free room at the ends of a word, in units of the letters' size."""

_SHORTEST, _SPACING, _STEP = 12.0, 80.0, 3.0
"""Shortest line that gets a number, length of line to a number, steps in which a free place is sought [mm]."""

_STRAIGHT = 0.95
"""Least ratio of chord to arc under a number: it is not written on a sharp bend."""

_SQUARE = 80.0
"""A band is numbered at least once in every square of this side [mm], where it is broad enough."""

_LARGEST, _SMALLEST = 5.0, 3.0
"""Letters in a band [mm], as its breadth allows."""


@dataclass(frozen=True)
class Label:
    """Words centred on (u, v) [mm], turned by ``angle`` [degrees], in letters of ``size`` [mm]."""

    text: str
    u: float
    v: float
    size: float
    angle: float = 0.0

    @property
    def footprint(self) -> BaseGeometry:
        """The place that the words take."""
        wide, high = 0.5 * self.size * (_LETTER * len(self.text) + _AIR), 0.6 * self.size
        turn = np.deg2rad(self.angle)
        cos, sin = wide * np.cos(turn), wide * np.sin(turn)
        along = np.array([cos, sin])
        across = high / wide * np.array([-sin, cos])
        corners = [along + across, across - along, -along - across, along - across]
        return shapely.Polygon(np.array(corners) + np.array([self.u, self.v]))


def upright(angle: float) -> float:
    """Return the direction of a line [degrees] as the one in which words on it are read, from -90 to below 90."""
    return (angle + 90) % 180 - 90


def first_free(
    candidates: Iterable[Label], taken: Sequence[BaseGeometry], within: BaseGeometry
) -> Label | None:
    """Return the first label that lies within an area and on nothing that is taken."""
    for label in candidates:
        place = label.footprint
        if within.contains(place) and not shapely.intersects(place, np.array(taken, dtype=object)).any():
            return label
    return None


def number_lines(
    lines: Sequence[tuple[Floats, str]], size: float, taken: Sequence[BaseGeometry], within: BaseGeometry
) -> list[Label]:
    """Return words along lines (p, 2) [mm], the longest served first."""
    placed: list[Label] = []
    full = list(taken)
    for line, text in sorted(lines, key=lambda pair: -_arc(pair[0])[-1]):
        for goal, reach in _goals(line):
            label = first_free(_along(line, text, size, goal, reach), full, within)
            if label is not None:
                placed.append(label)
                full.append(label.footprint)
    return placed


def number_bands(
    areas: Sequence[tuple[Band, str]], taken: Sequence[BaseGeometry], within: BaseGeometry
) -> list[Label]:
    """Return numbers inside bands, in every square of a large one; where a band is too narrow, on its rim."""
    placed: list[Label] = []
    for band, text in areas:
        for part in shapely.get_parts(band.area):
            full = [*taken, *(label.footprint for label in placed)]
            inside = [
                label for label in _inside_squares(part, text, full) if within.contains(label.footprint)
            ]
            placed += inside or _on_rim(part, text, full, within)
    return placed


def _inside_squares(part: BaseGeometry, text: str, taken: Sequence[BaseGeometry]) -> Iterator[Label]:
    """Yield a label for each square of a part in which there is room."""
    free = part.difference(shapely.union_all(taken))
    left, bottom, right, top = part.bounds
    for u in np.arange(left, right, _SQUARE):
        for v in np.arange(bottom, top, _SQUARE):
            square = free.intersection(shapely.box(u, v, u + _SQUARE, v + _SQUARE))
            for piece in shapely.get_parts(square):
                if (label := _inside(piece, text)) is not None:
                    yield label


def _on_rim(
    part: BaseGeometry, text: str, taken: Sequence[BaseGeometry], within: BaseGeometry
) -> list[Label]:
    if not isinstance(part, shapely.Polygon):
        return []
    rim = shapely.get_coordinates(part.exterior)
    return number_lines([(rim, text)], _SMALLEST, taken, within)


def _inside(piece: BaseGeometry, text: str) -> Label | None:
    """Return a label in the roomiest place of a piece, None if even small letters do not fit."""
    if not isinstance(piece, shapely.Polygon | shapely.MultiPolygon) or piece.is_empty:
        return None
    radius = shapely.maximum_inscribed_circle(piece, 0.3)
    (u, v), _ = shapely.get_coordinates(radius)
    size = min(_LARGEST, 2 * radius.length / (_LETTER * len(text)))
    return Label(text, float(u), float(v), size) if size >= _SMALLEST else None


def _arc(line: Floats) -> Floats:
    """Length (p,) along a line to each of its points."""
    return np.append(0.0, np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1)))


def _goals(line: Floats) -> Iterator[tuple[float, float]]:
    """Yield where on a line its numbers should stand, and how far off they may."""
    length = float(_arc(line)[-1])
    if length >= _SHORTEST:
        count = max(1, round(length / _SPACING))
        for i in range(count):
            yield (i + 0.5) * length / count, 0.5 * length / count


def _along(line: Floats, text: str, size: float, goal: float, reach: float) -> Iterator[Label]:
    """Yield labels on a line where it is straight enough, from ``goal`` outward up to ``reach`` [mm] either way.

    After them come labels beside the line, for lines that run along an edge.
    """
    arc = _arc(line)
    half = 0.5 * size * _LETTER * len(text)
    steps = np.arange(0.0, reach, _STEP)
    for aside in (0.0, size, -size):
        for offset in np.stack([steps, -steps], axis=1).ravel()[1:]:
            marks = goal + offset + np.array([-half, 0.0, half])
            if marks[0] < 0 or marks[-1] > arc[-1]:
                continue
            first, middle, last = np.stack([np.interp(marks, arc, line[:, k]) for k in (0, 1)], axis=1)
            du, dv = last - first
            chord = float(np.hypot(du, dv))
            if chord >= _STRAIGHT * 2 * half:
                u, v = middle + aside / chord * np.array([-dv, du])
                yield Label(text, float(u), float(v), size, upright(float(np.degrees(np.arctan2(dv, du)))))
