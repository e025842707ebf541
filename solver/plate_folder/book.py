"""The book of all plates: every plate folder in a folder, read as it stands, without making plates of them."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from meshes.input_file import file_text
from meshes.readings_csv import read_table
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate_folder.description import PLATE_FILE, READINGS, Description, read_description
from solver.plate_folder.inside import file_in
from solver.plate_folder.schema import ThicknessTable


@dataclass(frozen=True, eq=False)
class Page:
    """One plate as its folder describes it; ``thickness_mm`` is the mean and the least of its readings.

    ``length_mm`` is how long its outline is; None where that cannot be read.
    """

    description: Description
    thickness_mm: tuple[float, float]
    length_mm: float | None

    @property
    def name(self) -> str:
        """What the plate's folder is called."""
        return self.description.folder.name


def read_page(folder: Path) -> Page:
    """Return one plate as it stands in the book; raises InputError if its folder cannot be understood."""
    description = read_description(folder)
    table = description.table
    return Page(description, _thickness_mm(folder, table.thickness), _length_mm(folder, table.outline.file))


PLAN = ("x_mm", "y_mm")
"""The columns of an outline."""

_USUAL = (1.0, 10.0)
"""Thickness [mm] that needs no second look."""

_TIDY = 5_000_000
"""Letters of a table that is taken apart at once; longer ones are read line by line."""


def plate_folders(folder: Path) -> list[Path]:
    """Return the folders of plates that lie in a folder, by their names.

    Raises
    ------
    InputError
        If there is no such folder, it is that of a single plate, or no plate lies in it.
    """
    try:
        if (folder / PLATE_FILE).exists():
            raise InputError(
                f"{folder}: it is the folder of one plate; expected the folder in which the folders of plates lie. "
                f"Name {folder.absolute().parent}."
            )
        places = sorted(place for place in folder.iterdir() if _is_plate(place))
    except OSError as error:
        raise InputError(
            f"{folder}: it cannot be opened ({error.strerror}); expected the folder in which the folders of plates lie. "
            "Check its name."
        ) from None
    if not places:
        raise InputError(
            f"{folder}: no plate lies in it; expected folders with a plate.toml. Check the name, or make one with: "
            "platewright new"
        )
    return places


def _is_plate(place: Path) -> bool:
    """Tell whether a folder is that of a plate; one that may not be looked into may be, and is told of when it is read."""
    try:
        return (place / PLATE_FILE).exists()
    except OSError:
        return True


def _thickness_mm(folder: Path, table: ThicknessTable) -> tuple[float, float]:
    """Return mean and least thickness [mm] of the readings, as they were read."""
    if table.file is None:
        assert table.uniform_mm is not None, "the schema asks for exactly one of the two"
        return table.uniform_mm, table.uniform_mm
    path = file_in(folder, table.file, f"{PLATE_FILE}: thickness.file")
    readings = _tidy(file_text(path), READINGS)
    if readings is None:
        readings = read_table(path, READINGS)
    thickness = readings[:, 2]
    if not _USUAL[0] <= thickness.min() <= thickness.max() <= _USUAL[1]:
        from meshes.graduation_checks import (
            check_possible,
            check_unit,
        )  # what they need takes as long as fifty plates

        check_unit(readings * MM)
        check_possible(readings * MM)
    return float(thickness.mean()), float(thickness.min())


def _length_mm(folder: Path, name: str) -> float | None:
    """Return the greatest extent [mm] of an outline; None where it cannot be read, which spoils no row of the book."""
    try:
        path = file_in(folder, name, f"{PLATE_FILE}: outline.file")
        points = _tidy(file_text(path), PLAN) if path.suffix.lower() == ".csv" else None
        if points is None:
            from meshes.edge_files import read_edge

            points = read_edge(path, "outline").knots / MM
    except InputError:
        return None
    return float(np.ptp(points, axis=0).max())


def _tidy(text: str, columns: tuple[str, ...]) -> Floats | None:
    """Return the numbers (n, c) of a table without a slip in it; None sends it to the reader that names slips."""
    header, _, body = text.partition("\n")
    rows = body.split()
    if header.strip().lower() != ",".join(columns) or not rows or "_" in body or len(text) > _TIDY:
        return None
    try:
        numbers = np.array(",".join(rows).split(","), dtype=np.float64)
    except ValueError:
        return None
    tidy = {row.count(",") for row in rows} == {len(columns) - 1} and bool(np.isfinite(numbers).all())
    return numbers.reshape(-1, len(columns)) if tidy else None
