"""The book as files for other programs: a table for spreadsheets, and Parquet."""

import csv
from collections.abc import Sequence
from pathlib import Path

from solver.commands.book_answer import figures_in
from solver.commands.book_rows import CONSTANTS, Row, unit_of
from solver.core.atomic_write import whole_file

Cell = str | float | int | None

WITHOUT_BAND = ("thickness", "thinnest", "density", *CONSTANTS)

_FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
"""What makes a spreadsheet take a word for a formula, and carry it out."""


def columns_of(rows: Sequence[Row]) -> dict[str, list[Cell]]:
    """Return the columns by their names, which end in the unit; a figure that the weather moves has its low and high."""
    columns: dict[str, list[Cell]] = {
        key: [getattr(row, key) for row in rows]
        for key in ("name", "title", "role", "size", "species", "cut", "stage", "entries")
    }
    columns["taken"] = [row.taken.isoformat() if row.taken else None for row in rows]
    for name in figures_in(rows):
        unit = {"Hz": "hz", "kg/m3": "kg_m3"}.get(unit_of(name), unit_of(name))
        found = [row.figures.get(name) for row in rows]
        columns[f"{name}_{unit}"] = [None if figure is None else round(figure.value, 4) for figure in found]
        if name not in WITHOUT_BAND:
            columns[f"{name}_low_{unit}"] = [
                None if figure is None else round(figure.low, 4) for figure in found
            ]
            columns[f"{name}_high_{unit}"] = [
                None if figure is None else round(figure.high, 4) for figure in found
            ]
    return columns


def write_csv(rows: Sequence[Row], path: Path) -> None:
    """Write the rows as comma-separated text with one header line; raises InputError if nothing can be written there.

    A word that a spreadsheet would take for a formula has an apostrophe before it, which keeps it a word there.
    """
    columns = columns_of(rows)
    with whole_file(path) as part, part.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(columns)
        writer.writerows(zip(*(map(_as_word, cells) for cells in columns.values()), strict=True))


def _as_word(cell: Cell) -> Cell:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA_SIGNS) else cell


def write_parquet(rows: Sequence[Row], path: Path) -> None:
    """Write the same as Parquet; raises InputError if nothing can be written there."""
    import polars

    columns = columns_of(rows)
    numbers = {name for name in columns if name.endswith(("_hz", "_g", "_mm", "_kg_m3", "_GPa"))}
    schema = {
        name: polars.Float64 if name in numbers else polars.Int64 if name == "entries" else polars.String
        for name in columns
    }
    with whole_file(path) as part:
        polars.DataFrame(columns, schema=schema).write_parquet(part)
