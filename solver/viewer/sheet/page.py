"""The frame of every page: heading, rulers to check the printer; and the pages on which the plate lies."""

from typing import TYPE_CHECKING

import numpy as np

from solver.viewer.colours import QUIET_INK
from solver.viewer.sheet.content import SheetContent
from solver.viewer.sheet.facts import INSIDE, sides
from solver.viewer.sheet.ink import BOLD, draw_line, fitted, set_pen, write
from solver.viewer.sheet.paper import HEAD, STRIP, Box, Paper
from solver.viewer.sheet.plan_ink import DETAILS, FORM, draw_cross
from solver.viewer.sheet.tiling import CROSS, Tile, Tiling

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

INCH = 25.4
SEAM_DASHES = (2.0, 1.5)
_BIG, _SMALL, _TINY = 7.0, 2.8, 2.4


def draw_frame(canvas: "Canvas", paper: Paper, content: SheetContent, title: str, page: str) -> None:
    """Draw what every page has: from where the plate is seen, which page it is, the rulers, the plate's name."""
    inner = paper.inner
    base = inner.top - HEAD + 2.0
    write(canvas, inner.left, base, INSIDE, _BIG, BOLD)
    write(canvas, inner.right, base, title, _BIG, BOLD, share=1.0)
    _draw_rulers(canvas, inner)
    room = inner.width - 4 * INCH - 12.0
    said = (
        f"{content.folder_name}: {content.plate.title}",
        f"{content.made:%Y-%m-%d}, {page}, {content.shows}",
        "Print at 100 %; the rulers must measure true.",
    )
    for line, text in enumerate(said):
        v = inner.bottom + 10.0 - 4.2 * line
        write(canvas, inner.right, v, fitted(text, room, _SMALL), _SMALL, share=1.0)


def draw_tile(canvas: "Canvas", tiling: Tiling, tile: Tile, content: SheetContent) -> None:
    """Draw what a sheet shows of the plate at its true size, its seams, and which sheets lie beside it."""
    window, shown = tiling.paper.window, tile.window
    canvas.saveState()
    border = canvas.beginPath()
    border.rect(window.left, window.bottom, window.width, window.height)
    canvas.clipPath(border, stroke=0, fill=0)
    canvas.translate(window.left - shown.left, window.bottom - shown.bottom)
    canvas.doForm(FORM)
    canvas.doForm(DETAILS)
    for seam in tiling.seams:
        if tile.name in seam.tiles:
            set_pen(canvas, 0.2, SEAM_DASHES, QUIET_INK)
            draw_line(canvas, np.array([seam.start, seam.end]))
            for cross in seam.crosses:
                draw_cross(canvas, cross, CROSS)
    canvas.restoreState()
    set_pen(canvas, 0.2, colour=QUIET_INK)
    canvas.rect(window.left, window.bottom, window.width, window.height)
    _name_sides(canvas, tiling, tile, content)


def _name_sides(canvas: "Canvas", tiling: Tiling, tile: Tile, content: SheetContent) -> None:
    """Write along each side of the window what lies there, and which sheet is joined to it."""
    names, window = sides(content.plate.role), tiling.paper.window
    middle_u, middle_v = window.left + window.width / 2, window.bottom + window.height / 2
    low, high = STRIP - 1.3, 1.3
    for name, step, (u, v), turn in (
        (names.top, (0, -1), (middle_u, window.top + high), 0),
        (names.bottom, (0, 1), (middle_u, window.bottom - low), 0),
        (names.left, (-1, 0), (window.left - high, middle_v), 90),
        (names.right, (1, 0), (window.right + low, middle_v), 90),
    ):
        other = tiling.neighbour(tile, *step)
        canvas.saveState()
        canvas.translate(u, v)
        canvas.rotate(turn)
        write(canvas, 0, 0, f"{name} \N{BULLET} joins {other.name}" if other else name, 3.2, share=0.5)
        canvas.restoreState()


def _draw_rulers(canvas: "Canvas", inner: Box) -> None:
    """Draw 100 mm and 4 in, to be measured after printing."""
    _draw_ruler(canvas, inner.left + 1.0, inner.bottom + 9.0, 1.0, 100, (10, 50), "mm")
    _draw_ruler(canvas, inner.left + 1.0, inner.bottom + 1.0, INCH / 8, 32, (4, 8), "in")


def _draw_ruler(
    canvas: "Canvas", left: float, bottom: float, step: float, count: int, longer: tuple[int, int], unit: str
) -> None:
    """Draw a ruler of ``count`` steps [mm]; every so many steps have longer ticks, the longest with a number."""
    set_pen(canvas, 0.2)
    canvas.line(left, bottom, left + count * step, bottom)
    for i in range(count + 1):
        u = left + i * step
        tall = 3.0 if i % longer[1] == 0 else 2.0 if i % longer[0] == 0 else 1.2
        canvas.line(u, bottom, u, bottom + tall)
        if i % longer[1] == 0:
            number = i if unit == "mm" else i // longer[1]
            text = f"{number} {unit}" if i == count else f"{number}"
            write(canvas, u, bottom + 3.5, text, _TINY, share=0.0 if i == 0 else 1.0 if i == count else 0.5)
