"""The first page: the figures, how the sheets lie and are joined, what the marks mean, limits and cautions."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from solver.viewer.colours import INK, QUIET_INK
from solver.viewer.sheet.content import SheetContent
from solver.viewer.sheet.facts import CAUTIONS, how_it_lies, how_to_print, last_entry, limits, rows, the_plan
from solver.viewer.sheet.ink import BOLD, PLAIN, draw_label, set_pen
from solver.viewer.sheet.labels import Label
from solver.viewer.sheet.legend import draw_legend, legend_height
from solver.viewer.sheet.paper import Box
from solver.viewer.sheet.plan import Plan
from solver.viewer.sheet.plan_ink import FORM
from solver.viewer.sheet.tiling import Tiling

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable, Paragraph, Table

_LEFT_SHARE, _GAP = 0.36, 5.0
_ONE_LINE = 40
"""Longer titles are written smaller."""

_HEADINGS = ("", "computed now", "measured last", "wanted", "after this pass", "in the end")
_COLUMNS = (0.11, 0.23, 0.2, 0.16, 0.17, 0.13)
"""Shares of the width that the columns of figures take; what is planned stands in the last two, if anything is."""


def draw_front(canvas: "Canvas", content: SheetContent, tiling: Tiling, plan: Plan, room: Box) -> None:
    """Draw the first page into a rectangle: figures above, then picture and marks on the left, words on the right."""
    high = _draw_column(
        canvas, _head(content, room.width), Box(room.left, room.bottom, room.width, room.height)
    )
    below = Box(room.left, room.bottom, room.width, room.height - high - _GAP)
    left = _LEFT_SHARE * below.width
    joined = len(tiling.tiles) > 1
    foot = below.top
    if joined:
        legend = legend_height(plan, joined) + _GAP
        foot = (
            _draw_overview(
                canvas, tiling, Box(below.left, below.bottom + legend, left, below.height - legend)
            )
            - _GAP
        )
    draw_legend(canvas, plan, joined, below.left, foot)
    right = Box(below.left + left + _GAP, below.bottom, below.width - left - _GAP, below.height)
    _draw_column(canvas, _words(content, len(tiling.tiles)), right)


def _draw_column(canvas: "Canvas", parts: Sequence["Flowable"], room: Box) -> float:
    """Draw parts one below the other from the top of a rectangle, smaller if they need it; return their height [mm]."""
    from reportlab.platypus import KeepInFrame

    column = KeepInFrame(room.width, room.height, list(parts), mode="shrink")
    _, height = column.wrapOn(canvas, room.width, room.height)
    column.drawOn(canvas, room.left, room.top - height)
    return float(height)


def _head(content: SheetContent, width: float) -> list["Flowable"]:
    title = content.plate.title
    return [
        _paragraph(how_it_lies(content.plate.role), 4.0, BOLD),
        _paragraph(title, 7.0 if len(title) <= _ONE_LINE else 4.5, BOLD),
        _paragraph(
            f"{content.plate.role}, folder {content.folder_name}, {content.made:%Y-%m-%d}, {content.shows}",
            3.6,
        ),
        _figures(content, width),
        _paragraph(last_entry(content), 3.2),
    ]


def _figures(content: SheetContent, width: float) -> "Table":
    """Return the table of figures."""
    from reportlab.platypus import Table

    headings = _headings(content)
    columns = len(headings)
    body = [(row.name, row.now, row.measured, row.wanted, row.after, row.at_last) for row in rows(content)]
    cells = [
        [_paragraph(cell, 3.2, BOLD if row is headings else PLAIN) for cell in row[:columns]]
        for row in (headings, *body)
    ]
    widths = [share * width / sum(_COLUMNS[:columns]) for share in _COLUMNS[:columns]]
    table = Table(cells, colWidths=widths, hAlign="LEFT", spaceAfter=2.0)
    table.setStyle(
        [
            ("LINEBELOW", (0, 0), (-1, -1), 0.15, QUIET_INK),
            ("LINEBELOW", (0, 0), (-1, 0), 0.4, INK),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            *((f"{side}PADDING", (0, 0), (-1, -1), 0.8) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")),
        ]
    )
    return table


def _headings(content: SheetContent) -> tuple[str, ...]:
    """Return the heads of the columns: what is predicted only where wood is taken, the end only where there are passes."""
    if content.removal is None:
        return _HEADINGS[:-2]
    return (*_HEADINGS[:-2], "after this trial") if content.removal.trial else _HEADINGS


def _words(content: SheetContent, sheets: int) -> list["Flowable"]:
    parts: list[Flowable] = []
    for title, lines in (
        ("The trial" if content.removal and content.removal.trial else "The plan", [*the_plan(content)]),
        ("Limits", limits(content)),
        ("Printing and joining", how_to_print(sheets)),
        ("Take care", CAUTIONS),
    ):
        if lines:
            parts += [_paragraph(title, 4.2, BOLD), *_points(lines)]
    return parts


def _points(lines: Iterable[str]) -> list["Paragraph"]:
    return [_paragraph(f"\N{BULLET} {line}", 3.5, indent=2.8) for line in lines]


def _paragraph(text: str, size: float, font: str = PLAIN, indent: float = 0.0) -> "Paragraph":
    from reportlab.lib.colors import HexColor
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    style = ParagraphStyle(
        font,
        fontName=font,
        fontSize=size,
        leading=1.3 * size,
        textColor=HexColor(INK),
        spaceAfter=0.35 * size,
        leftIndent=indent,
        firstLineIndent=-indent,
    )
    return Paragraph(escape(text), style)


def _draw_overview(canvas: "Canvas", tiling: Tiling, room: Box) -> float:
    """Draw how the sheets lie on the plate, no larger than a rectangle and at its top; return where it ends [mm]."""
    windows = [tile.window for tile in tiling.tiles]
    left, right = min(w.left for w in windows), max(w.right for w in windows)
    bottom, top = min(w.bottom for w in windows), max(w.top for w in windows)
    scale = min(room.width / (right - left), room.height / (top - bottom))
    canvas.saveState()
    canvas.translate(room.left, room.top)
    canvas.scale(scale, scale)
    canvas.translate(-left, -top)
    canvas.doForm(FORM)
    for tile in tiling.tiles:
        window = tile.window
        set_pen(canvas, 0.2 / scale, colour=QUIET_INK)
        canvas.rect(window.left, window.bottom, window.width, window.height)
        middle = window.left + window.width / 2, window.bottom + window.height / 2
        draw_label(canvas, Label(tile.name, *middle, 5.0 / scale), BOLD)
    canvas.restoreState()
    return room.top - scale * (top - bottom)
