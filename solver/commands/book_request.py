"""What a maker asks of the book: which plates, in which order, and which two figures against each other."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from solver.commands.typed_figures import NUMBER
from solver.core.errors import InputError
from solver.viewer.page_files import picture_kind

if TYPE_CHECKING:
    from solver.commands.book_rows import Row
    from solver.plate.climate import Climate

FIGURES = ("mass", "thickness", "thinnest", "density", "EL", "ER", "ET", "GLR", "GLT", "GRT")
WORDS = ("name", "title", "role", "size", "species", "cut", "stage")
OTHERS = ("taken", "entries")

FIGURES_SAID = f"{', '.join(FIGURES)}, or mode1, mode2 and so on"


@dataclass(frozen=True)
class Bound:
    """A least or a greatest value of a figure."""

    figure: str
    value: float
    is_least: bool


@dataclass(frozen=True)
class BookRequest:
    """What the maker asked for; ``words`` are those that must stand in a column, ``scatter`` is across and up."""

    folder: Path
    room: "Climate"
    bounds: tuple[Bound, ...]
    words: tuple[tuple[str, str], ...]
    sort: str
    descending: bool
    first: int
    scatter: tuple[str, str] | None
    picture: Path | None
    like: Path | None
    csv: Path | None
    parquet: Path | None
    as_json: bool


def check_picture(picture: Path | None, scatter: str | None) -> None:
    """Refuse a picture of nothing, or of a kind that is not known, before anything is read."""
    if picture is None:
        return
    if scatter is None:
        raise InputError(
            "--picture: there is nothing to draw; expected two figures to draw against each other. "
            "Add for instance --scatter mass,mode5."
        )
    picture_kind(picture)


def bound_typed(option: str, text: str) -> Bound:
    """Return the bound that ``mode5=340`` behind ``--min`` or ``--max`` names; raises InputError if it is none."""
    found = re.fullmatch(rf"\s*(\w+)\s*=\s*({NUMBER})\s*", text)
    if found is None:
        raise InputError(
            f"{option} is '{text}'; expected a figure and a number with = between. Write for instance {option} mode5=340."
        )
    return Bound(figure_called(option, found[1]), float(found[2]), option == "--min")


def figure_called(option: str, text: str) -> str:
    """Return the name of a figure; raises InputError if there is none of that name."""
    name = text.strip()
    if name in FIGURES or re.fullmatch(r"mode[1-9]\d?", name):
        return name
    known = {figure.lower(): figure for figure in FIGURES}
    if name.lower() in known:
        return known[name.lower()]
    if re.fullmatch(r"[1-9]\d?", name):
        raise InputError(f"{option}: there is no figure '{name}'; expected {FIGURES_SAID}. Write mode{name}.")
    raise InputError(f"{option}: there is no figure '{name}'; expected {FIGURES_SAID}. Write one of them.")


def scatter_typed(text: str) -> tuple[str, str]:
    """Return the two figures of ``--scatter X,Y``; raises InputError for anything else."""
    parts = text.split(",")
    if len(parts) != 2:
        raise InputError(
            f"--scatter is '{text}'; expected two figures with a comma between. Write for instance --scatter mass,mode5."
        )
    across, up = (figure_called("--scatter", part) for part in parts)
    if across == up:
        raise InputError(
            f"--scatter is '{text}'; expected two different figures. Write for instance mass,mode5."
        )
    return across, up


def order_typed(text: str) -> str:
    """Return what ``--sort`` names: a figure, a column of words, taken or entries; raises InputError if it is none."""
    name = text.strip()
    if name in (*WORDS, *OTHERS):
        return name
    try:
        return figure_called("--sort", name)
    except InputError:
        raise InputError(
            f"--sort: there is no column '{name}'; expected {', '.join((*WORDS, *OTHERS))}, {FIGURES_SAID}. "
            "Write one of them."
        ) from None


def chosen(rows: "Sequence[Row]", request: BookRequest) -> "list[Row]":
    """Return the rows that keep to the bounds and have the words in them, in the order asked for.

    A figure that is not known keeps to no bound. Rows that lack what is sorted by come last.
    """
    kept = [
        row
        for row in rows
        if all(_keeps(row, bound) for bound in request.bounds)
        and all(part.lower() in str(getattr(row, column)).lower() for column, part in request.words)
    ]
    known = [row for row in kept if _value(row, request.sort) is not None]
    known.sort(key=lambda row: _key(row, request.sort), reverse=request.descending)
    return known + [row for row in kept if _value(row, request.sort) is None]


def _keeps(row: "Row", bound: Bound) -> bool:
    figure = row.figures.get(bound.figure)
    if figure is None:
        return False
    return figure.value >= bound.value if bound.is_least else figure.value <= bound.value


def _value(row: "Row", name: str) -> str | float | None:
    """Return what a row is sorted by, None if it lacks it."""
    if name in WORDS:
        return str(getattr(row, name)).lower() or None
    if name == "taken":
        return row.taken.timestamp() if row.taken else None
    if name == "entries":
        return float(row.entries)
    figure = row.figures.get(name)
    return None if figure is None else figure.value


def _key(row: "Row", name: str) -> tuple[float, str]:
    value = _value(row, name)
    return (0.0, value) if isinstance(value, str) else (value or 0.0, row.name)
