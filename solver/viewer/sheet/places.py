"""Where to hold and where to tap the plate, and the words beside these places and on the bar."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from solver.core.units import MM
from solver.modal.node_lines import hold_and_tap
from solver.plate.bar import Bar
from solver.viewer.captions import mode_name
from solver.viewer.plan_view import on_paper
from solver.viewer.sheet.content import SheetContent
from solver.viewer.sheet.labels import Label, first_free, upright
from solver.viewer.sheet.tiling import ROOM

MARK = 2.5
"""Radius of a mark to hold or to tap at [mm]."""

_WORD = 3.2
"""Letters beside marks [mm]."""

_ON_BAR = (0.15, 0.5, 0.85)
"""Where along the bar it is named."""


@dataclass(frozen=True)
class Mark:
    """A place (u, v) [mm] to hold or to tap at, and its words."""

    u: float
    v: float
    tap: bool
    text: str

    @property
    def footprint(self) -> BaseGeometry:
        """The place that it takes."""
        return shapely.Point(self.u, self.v).buffer(MARK + 0.3)


def places(content: SheetContent) -> Iterator[Mark]:
    """Yield where to hold and to tap the plate for the tones that are shown."""
    for index in content.shown:
        name = mode_name(content.modes, index).removeprefix("mode ")
        spots = hold_and_tap(content.modes, index)
        for tap, points in ((False, spots.hold), (True, spots.tap[None])):
            for u, v in zip(*on_paper(points), strict=True):
                yield Mark(float(u), float(v), tap, f"{'tap' if tap else 'hold'} {name}")


def words_beside(
    marks: Sequence[Mark], wood: shapely.Polygon, taken: Sequence[BaseGeometry]
) -> Iterator[Label]:
    """Yield the words of each mark: beside it on the wood if there is room, else beside the plate."""
    full = list(taken)
    sheet = shapely.box(*wood.bounds).buffer(ROOM - 1.0)
    for mark in marks:
        around = _around(mark, wood.centroid)
        label = first_free(around, full, wood) or first_free(around, full, sheet)
        if label is not None:
            yield label
            full.append(label.footprint)


def words_on_bar(bar: Bar, taken: Sequence[BaseGeometry]) -> Iterator[Label]:
    """Yield the name of the bar, written along it where nothing else lies."""
    centres = bar.start + np.array(_ON_BAR)[:, None] * (bar.end - bar.start)
    angle = float(np.degrees(np.arctan2(*bar.direction)))
    strip = shapely.Polygon(np.column_stack(on_paper(bar.footprint)))
    for u, v in zip(*on_paper(centres), strict=True):
        label = Label("bar", float(u), float(v), min(_WORD, 0.6 * bar.width / MM), upright(angle))
        if (free := first_free([label], taken, strip)) is not None:
            yield free


def _around(mark: Mark, centre: shapely.Point) -> list[Label]:
    """Return places for words round a mark: near ones first, and of these the ones towards the middle of the plate."""
    origin = Label(mark.text, mark.u, mark.v, _WORD)
    left, bottom, right, top = origin.footprint.bounds
    labels: list[Label] = []
    for further in (0.0, 4.0, 8.0):
        across, up = ((side / 2 + MARK + 0.5 + further) for side in (right - left, top - bottom))
        steps = [(across * i, up * j) for i in (-1, 0, 1) for j in (-1, 0, 1) if i or j]
        ring = [replace(origin, u=mark.u + du, v=mark.v + dv) for du, dv in steps]
        labels += sorted(ring, key=lambda label: centre.distance(shapely.Point(label.u, label.v)))
    return labels
