"""Strokes drawn in DXF files."""

from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
from ezdxf.document import Drawing
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.insert import Insert
from ezdxf.enums import InsertUnits
from ezdxf.filemanagement import readfile
from ezdxf.path import Curve3To, Curve4To, make_path
from ezdxf.path import Path as DxfPath
from ezdxf.units import conversion_factor

from meshes.edge_files.stroke import Beziers, Stroke
from meshes.input_file import file_bytes
from solver.core.errors import InputError
from solver.core.units import MM

DRAWN = {"LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE"}

ARC_PIECES = 16
"""Cubics in a full circle at least: its radius is then true to 1e-7."""


def read_strokes(path: Path) -> list[Stroke]:
    """Return what a DXF file draws, labelled by its layers: lines, arcs, circles, ellipses, splines, polylines with bulges.

    The unit is that of $INSUNITS, and mm if the drawing has none. Blocks are opened; z is dropped.

    Raises
    ------
    InputError
        If the file is not DXF.
    """
    content = file_bytes(path)
    drawing, paths = _opened(path)
    # where the file has no unit, the reader would have it in metres
    scale = MM * (_millimetres_per_unit(path, drawing.units) if b"$INSUNITS" in content else 1.0)
    return [Stroke(_beziers(part, scale), layer) for part, layer in paths if len(part)]


def _opened(path: Path) -> tuple[Drawing, list[tuple[DxfPath, str]]]:
    """Return the drawing and its continuous paths, each with its layer."""
    try:
        drawing = readfile(path)
        return drawing, list(_paths(drawing.modelspace()))
    except MemoryError:
        raise
    except Exception as error:  # to a broken drawing the reader answers with whatever it stumbles over
        reason = " ".join(str(error).split()) or type(error).__name__
        raise InputError(
            f"{path.name}: it cannot be read as DXF ({reason}); expected a drawing. "
            "Export it again, as DXF R2010."
        ) from None


def _millimetres_per_unit(path: Path, unit: int) -> float:
    try:
        return conversion_factor(InsertUnits(unit), InsertUnits.Millimeters) if unit else 1.0
    except (ValueError, TypeError):
        raise InputError(
            f"{path.name}: its unit, $INSUNITS, is {unit}; expected 4 for mm, 5 for cm, 6 for m or 1 for "
            "inches. Set the unit of the drawing to mm."
        ) from None


def _paths(entities: Iterable[DXFEntity]) -> Iterator[tuple[DxfPath, str]]:
    """Yield the continuous paths of the lines, those in blocks too, each with its layer."""
    for entity in entities:
        if isinstance(entity, Insert):
            yield from _paths(entity.virtual_entities())
        elif entity.dxftype() in DRAWN:
            for part in make_path(entity, segments=ARC_PIECES).sub_paths():
                yield part, entity.dxf.layer


def _beziers(part: DxfPath, scale: float) -> Beziers:
    """Return the curves [m] of one continuous path, as the plate is seen from +z."""
    beziers, start = [], part.start
    for command in part.commands():
        points = [start, command.end]
        if isinstance(command, Curve3To):
            points[1:1] = [command.ctrl]
        elif isinstance(command, Curve4To):
            points[1:1] = [command.ctrl1, command.ctrl2]
        beziers.append(scale * np.array([[point.x, point.y] for point in points]))
        start = command.end
    return tuple(beziers)
