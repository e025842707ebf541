"""Comma-separated tables of numbers: outlines, heights of the arch, caliper readings."""

import csv
import io
import math
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from meshes.input_file import file_text
from solver.core.arrays import Floats
from solver.core.errors import InputError

LARGEST_NUMBER = 1e6
"""A kilometre in mm: beyond it a decimal point was lost, and squares of the number start to lose meaning."""


def read_table(path: Path, columns: Sequence[str] = ("x_mm", "y_mm"), least: int = 1) -> Floats:
    """Return the numbers (n, len(columns)) of a table with one header line, in the file's own units.

    The header must be ``columns``, in that order; blank lines are passed over, and so are empty cells at the
    end of a line, which spreadsheets like to add. ``least`` is the smallest number of rows that is of use.

    Raises
    ------
    InputError
        If the file cannot be read, is not such a table, or holds anything but finite numbers; the sentence
        names the file, the line and the column.
    """
    lines = _records(path)
    _check_header(path, next(lines, None), columns)
    rows = [_numbers(path, number, cells, columns) for number, cells in lines]
    if len(rows) < least:
        raise InputError(
            f"{path.name}: it has {len(rows)} row{'' if len(rows) == 1 else 's'} of numbers; "
            f"expected at least {least}. Add the missing ones below the header."
        )
    return np.array(rows, dtype=np.float64).reshape(-1, len(columns))


def _records(path: Path) -> Iterator[tuple[int, list[str]]]:
    """Yield the line number and the stripped cells of every line that is not blank."""
    reader = csv.reader(io.StringIO(file_text(path), newline=""), strict=True)
    try:
        for record in reader:
            cells = [cell.strip() for cell in record]
            while cells and not cells[-1]:
                cells.pop()
            if cells:
                yield reader.line_num, cells
    except csv.Error as error:
        raise InputError(
            f"{path.name}: line {reader.line_num} is not comma-separated text ({error}); "
            "expected plain numbers between commas. Look for a stray quotation mark."
        ) from None


def _check_header(path: Path, first: tuple[int, list[str]] | None, columns: Sequence[str]) -> None:
    expected = ",".join(columns)
    if first is None:
        raise InputError(
            f"{path.name}: it is empty; expected the header {expected} and rows of numbers below it."
        )
    line, cells = first
    found = ",".join(cells)
    if [cell.lower() for cell in cells] == [column.lower() for column in columns]:
        return
    _check_separator(path, line, found, columns)
    if all(_is_number(cell) for cell in cells):
        raise InputError(
            f"{path.name}: line {line} is numbers where the header is expected; "
            f"put the line {expected} above it."
        )
    raise InputError(
        f"{path.name}: line {line} is {_short(found)}; expected the header {expected}. "
        "Check that it is the right file, and name its columns so (lengths in mm)."
    )


def _check_separator(path: Path, line: int, found: str, columns: Sequence[str]) -> None:
    """Name the mend for tables that are whole but separated by something else than commas."""
    for sign, name in ((";", "semicolons"), ("\t", "tabs")):
        if len(found.split(sign)) >= len(columns) > 1:
            raise InputError(
                f"{path.name}: line {line} separates its columns by {name}; expected commas between them and "
                f"points as decimal marks. Replace every decimal comma by a point, then {name} by commas."
            )


def _numbers(path: Path, line: int, cells: list[str], columns: Sequence[str]) -> list[float]:
    if len(cells) > len(columns):
        raise InputError(
            f"{path.name}: line {line} has {len(cells)} values; expected {len(columns)} "
            f"({','.join(columns)}). "
            "If commas stand for decimal points in it, write points."
        )
    padded = cells + [""] * (len(columns) - len(cells))
    return [_number(path, line, column, cell) for column, cell in zip(columns, padded, strict=True)]


def _number(path: Path, line: int, column: str, cell: str) -> float:
    """Return one number, or say what stands in its place."""
    where = f"{path.name}: line {line}, {column}"
    if not cell:
        raise InputError(f"{where} is empty; expected a number. Fill it in, or take the line out.")
    if ";" in cell:
        raise InputError(
            f"{where} is {_short(cell)}; expected a number. Separate columns by commas, not by semicolons."
        )
    if "," in cell:
        raise InputError(
            f"{where} is {_short(cell)}; expected a point as decimal mark. "
            f"Write {_short(cell.replace(',', '.'))}."
        )
    if not _is_number(cell):
        raise InputError(
            f"{where} is {_short(cell)}; expected a number. Write digits only, without a unit or a note."
        )
    value = float(cell)
    if not math.isfinite(value):
        raise InputError(
            f"{where} is {_short(cell)}; expected a finite number. Measure it, or take the line out."
        )
    if abs(value) > LARGEST_NUMBER:
        raise InputError(
            f"{where} is {_short(cell)}; expected a length in mm. Look for a lost decimal point."
        )
    return value


def _is_number(cell: str) -> bool:
    """Tell whether a cell is a number as people write them (Python's digit grouping by _ is not)."""
    try:
        float(cell)
    except ValueError:
        return False
    return "_" not in cell


def _short(text: str) -> str:
    """Return text fit to be quoted in a sentence."""
    clean = "".join(sign if sign.isprintable() else " " for sign in text)
    return clean if len(clean) <= 40 else clean[:37] + "..."
