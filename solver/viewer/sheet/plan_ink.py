"""The plan of the plate in ink: drawn once, then shown on every sheet on which a part of it lies."""

import math
from typing import TYPE_CHECKING

import numpy as np

from solver.viewer.colours import INK, PAPER, QUIET_INK
from solver.viewer.sheet.ink import BOLD, draw_area, draw_label, draw_line, set_pen
from solver.viewer.sheet.labels import Label
from solver.viewer.sheet.places import MARK, Mark
from solver.viewer.sheet.plan import Plan
from solver.viewer.sheet.tiling import ROOM, Cross

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.pdfgen.pathobject import PDFPathObject

FORM, DETAILS = "form", "details"
"""Names of the two drawings: edges, bar and wood to take off; lines, numbers and marks."""

CENTRE_DASHES = (8.0, 1.5, 1.0, 1.5)
GUESS_DASHES = (0.4, 0.9)
BAR_WIDTH, EDGE_WIDTH, LINE_WIDTH, LIMIT_WIDTH = 0.3, 0.4, 0.18, 0.6
LIMIT_DASHES = (3.0, 1.2)
_PALE, _DARK = np.array([226.0, 236.0, 246.0]), np.array([74.0, 126.0, 184.0])
_DARKEST_STEP = 8


def keep_drawings(canvas: "Canvas", plan: Plan) -> None:
    """Draw the plan into the file under the two names, for ``canvas.doForm``."""
    left, bottom, right, top = plan.wood.bounds
    low, high = (
        (math.floor(left - ROOM), math.floor(bottom - ROOM)),
        (math.ceil(right + ROOM), math.ceil(top + ROOM)),
    )
    canvas.beginForm(FORM, *low, *high)
    _draw_form(canvas, plan)
    canvas.endForm()
    canvas.beginForm(DETAILS, *low, *high)
    _draw_details(canvas, plan)
    canvas.endForm()


def removal_colour(level: float, step: float) -> str:
    """Return the colour for a level of removal in steps [mm]: one blue, darker the more, so that a grey copy orders it."""
    share = min(1.0, (level / step - 1) / (_DARKEST_STEP - 1))
    red, green, blue = np.round(_PALE + share * (_DARK - _PALE)).astype(int)
    return f"#{red:02x}{green:02x}{blue:02x}"


def draw_mark(canvas: "Canvas", mark: Mark) -> None:
    """Draw a ring where to hold, a star where to tap."""
    set_pen(canvas, 0.2 if mark.tap else 0.5, colour=PAPER if mark.tap else INK)
    canvas.setFillColor(INK if mark.tap else PAPER)
    if mark.tap:
        canvas.drawPath(_star(canvas, mark), stroke=1, fill=1)
    else:
        canvas.circle(mark.u, mark.v, MARK, stroke=1, fill=1)


def draw_cross(canvas: "Canvas", cross: Cross, size: float) -> None:
    """Draw a registration cross with its number."""
    set_pen(canvas, 0.15)
    canvas.circle(cross.u, cross.v, 0.5 * size)
    canvas.line(cross.u - size, cross.v, cross.u + size, cross.v)
    canvas.line(cross.u, cross.v - size, cross.u, cross.v + size)
    for share in (-0.72, 0.72):
        draw_label(
            canvas, Label(f"{cross.number}", cross.u + share * size, cross.v + share * size, 2.6), BOLD
        )


def _draw_form(canvas: "Canvas", plan: Plan) -> None:
    set_pen(canvas, 0.15)
    for band in plan.removal:
        draw_area(canvas, band.area, removal_colour(band.level, plan.removal_step))
    if plan.bar is not None:
        set_pen(canvas, BAR_WIDTH)
        draw_line(canvas, plan.bar, closed=True)
    left, bottom, right, top = plan.wood.bounds
    if left < 0 < right:
        set_pen(canvas, 0.2, CENTRE_DASHES, QUIET_INK)
        draw_line(canvas, np.array([[0.0, bottom - ROOM], [0.0, top + ROOM]]))
    set_pen(canvas, EDGE_WIDTH)
    canvas.setLineJoin(1)
    draw_area(canvas, plan.wood)


def _draw_details(canvas: "Canvas", plan: Plan) -> None:
    set_pen(canvas, LINE_WIDTH)
    for line in plan.measured:
        draw_line(canvas, line)
    set_pen(canvas, LINE_WIDTH, GUESS_DASHES)
    for line in plan.guessed:
        draw_line(canvas, line)
    set_pen(canvas, LIMIT_WIDTH, LIMIT_DASHES)
    for line in plan.limit:
        draw_line(canvas, line)
    for label in plan.numbers:
        draw_label(canvas, label)
    for label in (*plan.removal_numbers, *plan.words):
        draw_label(canvas, label, BOLD)
    # stars last: where a place to hold is one to tap as well, the star stands in the ring
    for mark in sorted(plan.marks, key=lambda mark: mark.tap):
        draw_mark(canvas, mark)


def _star(canvas: "Canvas", mark: Mark) -> "PDFPathObject":
    path = canvas.beginPath()
    for i in range(10):
        radius = MARK * (0.9 if i % 2 == 0 else 0.4)
        angle = math.pi * (0.5 + i / 5)
        point = mark.u + radius * math.cos(angle), mark.v + radius * math.sin(angle)
        (path.moveTo if i == 0 else path.lineTo)(*point)
    path.close()
    return path
