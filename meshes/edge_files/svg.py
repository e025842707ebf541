"""Strokes drawn in SVG files."""

import io
import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree.ElementTree import ParseError

import numpy as np
from svgelements import SVG, Arc, CubicBezier, Matrix, Move, PathSegment, QuadraticBezier, Shape
from svgelements import Path as SvgPath

from meshes.edge_files.stroke import Stroke
from meshes.input_file import file_bytes
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM

UNITS_MM = {"mm": 1.0, "cm": 10.0, "q": 0.25, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6}
LENGTH = re.compile(r"\s*\+?(\d*\.?\d+|\d+\.)\s*(mm|cm|q|in|pt|pc)\s*", re.IGNORECASE)
PIXEL_MM = 25.4 / 96
"""A length without a unit where the drawing has no viewBox (CSS Values, absolute lengths)."""

ARC_TURN = np.radians(15.0)
"""Of one cubic in an arc: its radius is then true to 1e-8."""


def read_strokes(path: Path) -> list[Stroke]:
    """Return what an SVG file draws by paths, polygons, lines, rectangles, circles or ellipses, labelled by their ids.

    The origin is the zero of the drawing's own units (where its viewBox counts from); y is turned, for in SVG it
    goes down.

    Raises
    ------
    InputError
        If the file is not SVG, or does not say its size in a unit of length.
    """
    drawing, paths = _parsed(path)
    scale = _millimetres_per_unit(path, drawing) * MM * np.array([1, -1])
    return [Stroke(tuple(scale * bezier for bezier in beziers), label) for beziers, label in paths if beziers]


def _parsed(path: Path) -> tuple[SVG, list[tuple[list[Floats], str]]]:
    """Return the drawing and the curves of its continuous lines, in its own units, each with its id."""
    content = file_bytes(path)
    try:
        drawing = SVG.parse(io.BytesIO(content), reify=True)
        return drawing, list(_paths(drawing))
    except ParseError as error:
        line, column = error.position
        raise InputError(
            f"{path.name}: line {line}, column {column}: it is not well-formed SVG; expected a drawing "
            "saved as SVG. Save it again from the drawing program, uncompressed."
        ) from None
    except MemoryError:
        raise
    except Exception:  # to other XML and to broken numbers the parser answers with whatever it stumbles over
        raise InputError(
            f"{path.name}: it is not a drawing in SVG, or a number in it is broken; expected paths or plain "
            "shapes. Save it as plain SVG from the drawing program."
        ) from None


def _paths(drawing: SVG) -> Iterator[tuple[list[Floats], str]]:
    if drawing.viewbox is not None and not (drawing.viewbox.width and drawing.viewbox.height):
        raise ValueError("the viewBox is empty")
    to_units = ~Matrix(drawing.viewbox_transform)
    for shape in drawing.elements():
        if isinstance(shape, Shape) and shape.values.get("visibility") != "hidden":
            for part in abs(SvgPath(shape) * to_units).as_subpaths():
                yield (
                    [bezier for segment in SvgPath(part) for bezier in _beziers(segment)],
                    str(shape.id or ""),
                )


def _millimetres_per_unit(path: Path, drawing: SVG) -> float:
    """Return the size of the drawing's own unit, from its width and height and its viewBox."""
    sides = [_length_mm(drawing.values.get(side)) for side in ("width", "height")]
    box = drawing.viewbox
    if not any(sides):
        size = f'width="{box.width:g}mm" height="{box.height:g}mm"' if box else "width, height and a viewBox"
        raise InputError(
            f"{path.name}: it does not say its size in a unit of length; expected width and height in mm, cm "
            f"or in. If its numbers are mm, write {size} into its first tag."
        )
    if box is None:
        return PIXEL_MM
    shares = [mm / units for mm, units in zip(sides, (box.width, box.height), strict=True) if mm]
    return float(min(shares))


def _length_mm(text: str | None) -> float:
    """Return a length that has an absolute unit; 0 for pixels, per cents and none."""
    found = LENGTH.fullmatch(text or "")
    return float(found[1]) * UNITS_MM[found[2].lower()] if found else 0.0


def _beziers(segment: PathSegment) -> list[Floats]:
    """Return the control points (2 to 4, 2) of one segment, in its own units; none for a lifted pen."""
    if isinstance(segment, Move):
        return []
    if isinstance(segment, Arc):
        pieces = np.ceil(abs(segment.sweep) / ARC_TURN)
        curves = segment.as_cubic_curves(int(pieces) if 1 < pieces < np.inf else 1)
        return [bezier for curve in curves for bezier in _beziers(curve)]
    controls = {CubicBezier: ["control1", "control2"], QuadraticBezier: ["control"]}.get(type(segment), [])
    points = [getattr(segment, name) for name in ("start", *controls, "end")]
    return [np.array([[point.x, point.y] for point in points], np.float64)]
