"""Edges from files: one module per format, chosen by the file's ending."""

from collections.abc import Callable
from importlib import import_module
from pathlib import Path

from meshes.edge import Edge
from solver.errors import InputError

FORMATS = (".csv", ".svg", ".dxf")


def read_edge(path: Path, name: str) -> Edge:
    """Return the outline, or the hole called ``name``, that a .csv, .svg or .dxf file draws.

    The readers of drawings are loaded only for the format that is asked for.

    Raises
    ------
    InputError
        If the format is another one, or the file cannot be read as one closed edge.
    """
    ending = path.suffix.lower()
    if ending not in FORMATS:
        raise InputError(
            f"{path.name}: its format is not known by its ending; expected {', '.join(FORMATS[:-1])} or "
            f"{FORMATS[-1]}. Export the drawing as one of these."
        )
    read: Callable[[Path, str], Edge] = import_module(f"meshes.edge_files.{ending[1:]}").read_edge
    return read(path, name)
