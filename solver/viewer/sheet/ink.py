"""Lines, areas and words on a page whose unit is the millimetre."""

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import shapely
from shapely.geometry.base import BaseGeometry

from solver.core.arrays import Floats
from solver.viewer.colours import INK, PAPER
from solver.viewer.sheet.labels import Label

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.pdfgen.pathobject import PDFPathObject

PLAIN, BOLD = "Sheet", "Sheet-Bold"
_HALO = 0.5
"""Width of the pale rim round letters, both sides together, in units of their size."""

_MIDDLE = 0.36
"""Height of the middle of a digit above its base line, in units of the letters' size."""


@cache
def load_letters() -> None:
    """Make the letters of the sheet known, which are put into the file: titles are in any language of Europe."""
    import matplotlib
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    for name, file in ((PLAIN, "DejaVuSans.ttf"), (BOLD, "DejaVuSans-Bold.ttf")):
        registerFont(TTFont(name, str(folder / file)))


def set_pen(canvas: "Canvas", width: float, dash: tuple[float, ...] = (), colour: str = INK) -> None:
    """Choose width [mm], dashes [mm] and colour of the lines that follow."""
    canvas.setStrokeColor(colour)
    canvas.setLineWidth(width)
    canvas.setDash(list(dash))


def draw_line(canvas: "Canvas", points: Floats, closed: bool = False) -> None:
    """Draw a line through points (p, 2) [mm]."""
    path = canvas.beginPath()
    _trace(path, points, closed)
    canvas.drawPath(path)


def draw_area(canvas: "Canvas", area: BaseGeometry, fill: str | None = None) -> None:
    """Draw the rims of an area with its holes, and fill it."""
    path = canvas.beginPath()
    for part in shapely.get_parts(area):
        if isinstance(part, shapely.Polygon):
            for ring in (part.exterior, *part.interiors):
                _trace(path, shapely.get_coordinates(ring)[:-1], closed=True)
    if fill is not None:
        canvas.setFillColor(fill)
    even_odd = 0
    canvas.drawPath(path, stroke=1, fill=0 if fill is None else 1, fillMode=even_odd)


def draw_label(canvas: "Canvas", label: Label, font: str = PLAIN) -> None:
    """Write a label in ink with a pale rim round its letters, which makes it legible on lines and colours."""
    canvas.saveState()
    canvas.translate(label.u, label.v)
    canvas.rotate(label.angle)
    canvas.saveState()
    set_pen(canvas, _HALO * label.size, colour=PAPER)
    canvas.setLineJoin(1)
    _write_centred(canvas, label, font, stroke=True)
    canvas.restoreState()
    canvas.setFillColor(INK)
    _write_centred(canvas, label, font, stroke=False)
    canvas.restoreState()


def _write_centred(canvas: "Canvas", label: Label, font: str, stroke: bool) -> None:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    left = -0.5 * stringWidth(label.text, font, label.size)
    text = canvas.beginText(left, -_MIDDLE * label.size)
    text.setFont(font, label.size)
    if stroke:
        text.setTextRenderMode(1)
    text.textOut(label.text)
    canvas.drawText(text)


def write(
    canvas: "Canvas", u: float, v: float, text: str, size: float, font: str = PLAIN, share: float = 0.0
) -> None:
    """Write words on the base line v [mm]; ``share`` of them lies left of u: 0 begins there, 0.5 centres, 1 ends there."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    canvas.setFillColor(INK)
    canvas.setFont(font, size)
    canvas.drawString(u - share * stringWidth(text, font, size), v, text)


def fitted(text: str, width: float, size: float, font: str = PLAIN) -> str:
    """Return words that are no wider than ``width`` [mm], cut short by an ellipsis if need be."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    if stringWidth(text, font, size) <= width:
        return text
    while text and stringWidth(f"{text}…", font, size) > width:
        text = text[:-1]
    return f"{text.rstrip()}…"


def _trace(path: "PDFPathObject", points: Floats, closed: bool) -> None:
    path.moveTo(*map(float, points[0]))
    for u, v in points[1:]:
        path.lineTo(float(u), float(v))
    if closed:
        path.close()
