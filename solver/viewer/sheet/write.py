"""The sheet for the bench as a PDF."""

from pathlib import Path
from typing import TYPE_CHECKING

from solver.core.atomic_write import whole_file
from solver.viewer.sheet.content import SheetContent
from solver.viewer.sheet.front import draw_front
from solver.viewer.sheet.ink import load_letters
from solver.viewer.sheet.page import draw_frame, draw_tile
from solver.viewer.sheet.paper import FOOT, HEAD, STRIP, Box, Paper, PaperName
from solver.viewer.sheet.plan import Plan, lay_out_plan, wood_on_paper
from solver.viewer.sheet.plan_ink import keep_drawings
from solver.viewer.sheet.tiling import Tiling, lay_tiles

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

POINT = 25.4 / 72
"""A point of the PDF [mm]."""


def write_sheet(content: SheetContent, paper: PaperName, path: Path) -> Tiling:
    """Write the plate at its true size on sheets of paper, with figures and cautions; return how it was cut up.

    Raises
    ------
    InputError
        If nothing can be written there; then what stood there before still stands there.
    """
    from reportlab.pdfgen.canvas import Canvas

    load_letters()
    tiling = lay_tiles(wood_on_paper(content.plate.outline), paper)
    plan = lay_out_plan(content, [cross for seam in tiling.seams for cross in seam.crosses])
    with whole_file(path) as part:
        canvas = Canvas(str(part), pageCompression=1)
        _introduce(canvas, content)
        keep_drawings(canvas, plan)
        if paper == "roll":
            _draw_roll(canvas, content, tiling, plan)
        else:
            _draw_sheets(canvas, content, tiling, plan)
        canvas.save()
    return tiling


def _introduce(canvas: "Canvas", content: SheetContent) -> None:
    """Say in the file what it is, and ask viewers to print it at its size and on one side."""
    canvas.setTitle(f"{content.plate.title}: sheet for the bench, {content.shows}, seen from the inside")
    canvas.setCreator("platewright")
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("Duplex", "Simplex")


def _draw_sheets(canvas: "Canvas", content: SheetContent, tiling: Tiling, plan: Plan) -> None:
    """Draw the first page, which stands upright, and one page for each tile."""
    count = len(tiling.tiles)
    upright = tiling.paper if tiling.paper.height > tiling.paper.width else tiling.paper.turned()
    _begin_page(canvas, upright)
    draw_frame(canvas, upright, content, "Overview", f"page 1 of {count + 1}")
    draw_front(canvas, content, tiling, plan, _below_head(upright))
    canvas.showPage()
    for number, tile in enumerate(tiling.tiles, start=1):
        _begin_page(canvas, tiling.paper)
        said = f"tile {number} of {count}, page {number + 1} of {count + 1}"
        draw_frame(canvas, tiling.paper, content, f"Tile {tile.name} of {count}", said)
        draw_tile(canvas, tiling, tile, content)
        canvas.showPage()


def _draw_roll(canvas: "Canvas", content: SheetContent, tiling: Tiling, plan: Plan) -> None:
    """Draw everything on one page."""
    paper = tiling.paper
    _begin_page(canvas, paper)
    draw_frame(canvas, paper, content, "One sheet", "page 1 of 1")
    above = _below_head(paper)
    draw_front(
        canvas,
        content,
        tiling,
        plan,
        Box(above.left, above.top - paper.front + 3.0, above.width, paper.front - 3.0),
    )
    draw_tile(canvas, tiling, tiling.tiles[0], content)
    canvas.showPage()


def _begin_page(canvas: "Canvas", paper: Paper) -> None:
    canvas.setPageSize((paper.width / POINT, paper.height / POINT))
    canvas.scale(1 / POINT, 1 / POINT)


def _below_head(paper: Paper) -> Box:
    """Return the part of a page between its heading and its rulers."""
    inner = paper.inner
    foot = inner.bottom + FOOT + STRIP
    return Box(inner.left, foot, inner.width, inner.top - HEAD - 2.0 - foot)
