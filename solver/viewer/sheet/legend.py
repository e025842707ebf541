"""What the marks on the plan mean."""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import numpy as np
import shapely

from solver.viewer.colours import QUIET_INK
from solver.viewer.sheet.ink import BOLD, draw_area, draw_label, draw_line, set_pen, write
from solver.viewer.sheet.labels import Label
from solver.viewer.sheet.places import Mark
from solver.viewer.sheet.plan import Plan, removal_text
from solver.viewer.sheet.plan_ink import (
    BAR_WIDTH,
    CENTRE_DASHES,
    EDGE_WIDTH,
    GUESS_DASHES,
    LIMIT_DASHES,
    LIMIT_WIDTH,
    LINE_WIDTH,
    draw_cross,
    draw_mark,
    removal_colour,
)
from solver.viewer.sheet.tiling import Cross

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_ROW, _SAMPLE, _LETTERS = 6.2, 20.0, 3.2

Sample = Callable[["Canvas", float, float], None]
"""Draws a sample whose left end is at (u, v) [mm] and which is ``_SAMPLE`` long."""


def legend_height(plan: Plan, joined: bool) -> float:
    """Return the height [mm] of what `draw_legend` draws."""
    return _ROW * len(list(_entries(plan, joined)))


def draw_legend(canvas: "Canvas", plan: Plan, joined: bool, left: float, top: float) -> None:
    """Explain what stands on the plan, and the crosses if sheets are joined, downward from (left, top) [mm]."""
    for row, (sample, words) in enumerate(_entries(plan, joined)):
        v = top - (row + 0.5) * _ROW
        sample(canvas, left, v)
        write(canvas, left + _SAMPLE + 2.5, v - 0.36 * _LETTERS, words, _LETTERS)


def _entries(plan: Plan, joined: bool) -> Iterator[tuple[Sample, str]]:
    """Yield a sample and its words for everything that is on the plan."""
    holes = " and holes" if plan.wood.interiors else ""
    yield _line(EDGE_WIDTH), f"edge{holes}"
    yield _line(0.2, CENTRE_DASHES, QUIET_INK), "centre line"
    if plan.bar is not None:
        yield _bar, "bar"
    if plan.measured or plan.guessed:
        yield _numbered(LINE_WIDTH, (), "2.8"), "thickness now [mm]"
    if plan.guessed:
        yield _line(LINE_WIDTH, GUESS_DASHES), "a guess: no reading near"
    if plan.limit:
        yield _numbered(LIMIT_WIDTH, LIMIT_DASHES, "limit"), "least thickness allowed"
    if plan.removal:
        yield _removal(plan), "wood to take off [mm]"
    if plan.marks:
        yield _spot(tap=False), "hold here for this mode"
        yield _spot(tap=True), "tap here for this mode"
    if joined:
        yield _cross, "sheets are joined here"


def _line(width: float, dashes: tuple[float, ...] = (), colour: str = "black") -> Sample:
    def draw(canvas: "Canvas", u: float, v: float) -> None:
        set_pen(canvas, width, dashes, colour)
        draw_line(canvas, np.array([[u, v], [u + _SAMPLE, v]]))

    return draw


def _numbered(width: float, dashes: tuple[float, ...], number: str) -> Sample:
    def draw(canvas: "Canvas", u: float, v: float) -> None:
        _line(width, dashes)(canvas, u, v)
        draw_label(canvas, Label(number, u + _SAMPLE / 2, v, 2.8))

    return draw


def _bar(canvas: "Canvas", u: float, v: float) -> None:
    set_pen(canvas, BAR_WIDTH)
    draw_area(canvas, shapely.box(u, v - 1.4, u + _SAMPLE, v + 1.4))


def _removal(plan: Plan) -> Sample:
    """Show the least and the most wood to take off."""
    least, most = plan.removal[0].level, plan.removal[-1].level

    def draw(canvas: "Canvas", u: float, v: float) -> None:
        for level, left in ((least, u), (most, u + _SAMPLE / 2)):
            set_pen(canvas, 0.15)
            draw_area(
                canvas,
                shapely.box(left, v - 2.2, left + _SAMPLE / 2, v + 2.2),
                removal_colour(level, plan.removal_step),
            )
            draw_label(canvas, Label(removal_text(level), left + _SAMPLE / 4, v, 2.5), BOLD)

    return draw


def _spot(tap: bool) -> Sample:
    def draw(canvas: "Canvas", u: float, v: float) -> None:
        mark = Mark(u + 2.5, v, tap, "tap 5" if tap else "hold 5")
        draw_mark(canvas, mark)
        draw_label(canvas, Label(mark.text, u + 12.5, v, 2.8), BOLD)

    return draw


def _cross(canvas: "Canvas", u: float, v: float) -> None:
    draw_cross(canvas, Cross(1, u + _SAMPLE / 2, v), 2.6)
