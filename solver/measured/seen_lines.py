"""Seen node lines as a file of numbers: line by line, in millimetres of the plan."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from meshes.readings_csv import read_table
from solver.core.arrays import Floats
from solver.core.atomic_write import whole_file
from solver.core.units import MM

COLUMNS = ("line", "x_mm", "y_mm")


def write_seen_lines(lines: Sequence[Floats], path: Path) -> None:
    """Write lines (p, 2) [m], the longest as number 1, whole or not at all.

    Raises
    ------
    InputError
        If nothing can be written there.
    """
    rows = [
        f"{number},{x / MM:.2f},{y / MM:.2f}"
        for number, line in enumerate(lines, start=1)
        for x, y in line.tolist()
    ]
    with whole_file(path) as part:
        part.write_text("\n".join([",".join(COLUMNS), *rows]) + "\n", encoding="utf-8")


def read_seen_lines(path: Path) -> tuple[Floats, ...]:
    """Return the lines (p, 2) [m] of a file; raises InputError if it cannot be understood."""
    table = read_table(path, COLUMNS)
    return tuple(table[table[:, 0] == number, 1:] * MM for number in np.unique(table[:, 0]))
