"""Edges listed point by point in a comma-separated file."""

from pathlib import Path

import numpy as np

from meshes.edge import SAME_POINT, Edge, edge_through
from meshes.readings_csv import read_table
from solver.core.arrays import Bools, Floats
from solver.core.errors import InputError
from solver.core.units import MM

GAP = 4.0
"""How many usual steps between points the way back to the first one may be before the edge counts as open."""


def read_edge(path: Path, name: str) -> Edge:
    """Return the edge through the points x_mm, y_mm of a file, in order.

    A point that stands twice in a row is a corner. The last point may repeat the first, or not.

    Raises
    ------
    InputError
        If the file is not such a table, the points are too few, or they stop far from where they began.
    """
    listed = read_table(path, ("x_mm", "y_mm"), least=3) * MM
    starts = np.append(True, np.linalg.norm(np.diff(listed, axis=0), axis=1) > SAME_POINT)
    points, is_corner = listed[starts], np.diff(np.append(np.flatnonzero(starts), len(listed))) > 1
    if len(points) > 1 and np.linalg.norm(points[-1] - points[0]) <= SAME_POINT:
        is_corner[0] |= is_corner[-1]
        points, is_corner = points[:-1], is_corner[:-1]
    else:
        _check_closed(path, points, is_corner)
    return edge_through(points, name, np.flatnonzero(is_corner))


def _check_closed(path: Path, points: Floats, is_corner: Bools) -> None:
    """Refuse points that stop far from the first, unless corners at both ask for a straight line."""
    if len(points) < 3 or (is_corner[0] and is_corner[-1]):
        return
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    gap = float(np.linalg.norm(points[-1] - points[0]))
    if gap > max(GAP * float(np.median(steps)), 1.5 * float(steps.max())):
        raise InputError(
            f"{path.name}: the edge is open: its last point lies {gap / MM:.1f} mm from its first, the "
            f"others are {np.median(steps) / MM:.1f} mm apart; expected the edge once round. List what is "
            "missing, or write the first point again at the end if a straight line closes it."
        )
