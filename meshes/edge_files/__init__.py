"""Edges from files: one module per format, chosen by the file's ending."""

from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, cast

from meshes.edge_files.stroke import Stroke, meant
from solver.core.bounded_reading import BoundedFile, BoundedReading, Kind
from solver.core.errors import InputError

if TYPE_CHECKING:
    from meshes.edge import Edge

FORMATS = (".csv", ".svg", ".dxf")
DRAWINGS = FORMATS[1:]

_KIND = Kind(
    "a drawing of one edge",
    "Leave in it the line that is meant, as it is and not as a copy or a block, and export it again.",
)


def read_edges(wanted: Sequence[tuple[Path, str]]) -> "tuple[Edge, ...]":
    """Return the outline, or the hole of a name, that each .csv, .svg or .dxf file draws.

    All drawings are read together in one bounded process, which alone loads the readers of drawings.

    Raises
    ------
    InputError
        If the format is another one, or a file cannot be read as one closed edge.
    """
    drawn = [(path, name) for path, name in wanted if _ending(path) in DRAWINGS]
    strokes = dict(zip(drawn, _read_apart(drawn), strict=True)) if drawn else {}
    return tuple(_edge(path, name, strokes.get((path, name), [])) for path, name in wanted)


def read_edge(path: Path, name: str) -> "Edge":
    """Return the edge that one file draws; see `read_edges`."""
    return read_edges([(path, name)])[0]


def read_strokes(path: Path, name: str) -> list[Stroke]:
    """Return the strokes of a drawing among which its edge is; called in the bounded process.

    Raises
    ------
    InputError
        If it cannot be read as a drawing, or far too much is drawn in it.
    """
    reader = import_module(f"meshes.edge_files.{_ending(path)[1:]}")
    return meant(path, reader.read_strokes(path), name)


def _read_apart(drawn: Sequence[tuple[Path, str]]) -> list[list[Stroke]]:
    files = [BoundedFile(path.name, (path, name)) for path, name in drawn]
    with BoundedReading("meshes.edge_files:read_strokes", files, _KIND) as reading:
        return [cast("list[Stroke]", strokes) for strokes in reading.result()]


def _edge(path: Path, name: str, strokes: list[Stroke]) -> "Edge":
    if _ending(path) in DRAWINGS:
        from meshes.edge_files.strokes import edge_from_strokes

        return edge_from_strokes(path, strokes, name)
    from meshes.edge_files.csv import read_edge as read_listed

    return read_listed(path, name)


def _ending(path: Path) -> str:
    ending = path.suffix.lower()
    if ending not in FORMATS:
        raise InputError(
            f"{path.name}: its format is not known by its ending; expected {', '.join(FORMATS[:-1])} or "
            f"{FORMATS[-1]}. Export the drawing as one of these."
        )
    return ending
