"""The answer of ``platewright book``, as a table to read and as an object for other programs."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rich.console import Group
from rich.table import Table
from rich.text import Text

from solver.advice.alike import CONSTANT, SCALES, Likeness
from solver.commands.book_rows import CONSTANTS, Figure, Row, unit_of
from solver.commands.book_trend import BookTrend, said_of_trend, trend_as_json
from solver.commands.log_dialogue import USUAL_MODES
from solver.plate.climate import Climate

if TYPE_CHECKING:
    from solver.commands.tones import Json

SHOWN_CONSTANTS = ("density", "EL", "ER", "GLR")
"""Of the constants of a fit, those which a plate tells best."""

HEADS = {"mass": "Mass", "thickness": "Thick", "thinnest": "Least", "density": "Density"}

_ALL = ("mass", "thickness", "thinnest", *(f"mode{mode}" for mode in range(1, 100)), "density", *CONSTANTS)


@dataclass(frozen=True)
class BookAnswer:
    """The plates that were chosen, and what was found of them.

    ``trend`` is that of two figures, if it was asked for; ``likeness`` belongs to the rows where they are compared with a
    plate, by name.
    """

    rows: tuple[Row, ...]
    all_plates: int
    room: Climate
    trend: BookTrend | None
    likeness: tuple[Likeness, ...]
    like: str | None
    left_out: tuple[str, ...]


def figures_in(rows: Sequence[Row]) -> tuple[str, ...]:
    """Return the names of all figures that any of the plates has, in the order of the columns."""
    there = {name for row in rows for name in row.figures}
    return tuple(name for name in _ALL if name in there)


def book_as_json(answer: BookAnswer) -> "dict[str, Json]":
    """Return the object that ``--json`` prints."""
    room = answer.room
    return {
        "room": {"temperature_c": room.temperature_c, "humidity_pct": room.humidity_pct},
        "plates": [_plate(answer, place, row) for place, row in enumerate(answer.rows)],
        **({"trend": None} if answer.trend is None else trend_as_json(answer.trend)),
        "remarks": [] if answer.trend is None else [*said_of_trend(answer.trend)],
        "left_out": [*answer.left_out],
    }


def _plate(answer: BookAnswer, place: int, row: Row) -> "dict[str, Json]":
    return {
        "name": row.name,
        "title": row.title,
        "role": row.role,
        "size": row.size,
        "group": row.group,
        "species": row.species,
        "cut": row.cut,
        "stage": row.stage,
        "taken": row.taken.isoformat() if row.taken else None,
        "entries": row.entries,
        "figures": {name: _figure(figure) for name, figure in row.figures.items()},
        "steps": round(answer.likeness[place].steps, 3) if answer.likeness else None,
    }


def _figure(figure: Figure) -> "dict[str, Json]":
    return {
        "value": round(figure.value, 4),
        "low": round(figure.low, 4),
        "high": round(figure.high, 4),
        "in_room": figure.brought,
    }


def book_as_table(answer: BookAnswer, first: int) -> Group:
    """Return the ``first`` plates as a table, 0 for all of them, and what is to be said of them."""
    shown = answer.rows[: first or None]
    names = columns_shown(shown)
    table = Table(title="The book", title_justify="left", pad_edge=False)
    table.add_column("Plate")
    for name in names:
        table.add_column(f"{head_of(name)}\n{unit_of(name)}", justify="right", no_wrap=True)
    if answer.likeness:
        table.add_column("Steps\noff", justify="right", no_wrap=True)
    for place, row in enumerate(shown):
        off = [f"{answer.likeness[place].steps:.1f}"] if answer.likeness else []
        cells = (*(figure_in_words(name, row.figures.get(name)) for name in names), *off)
        table.add_row(_told(row), *(Text(cell) for cell in cells))
    return Group(table, *(Text(line) for line in (*_said(answer, len(shown)), *answer.left_out)))


def columns_shown(rows: Sequence[Row]) -> list[str]:
    """Return the names of those figures that are worth a column where there is no room for all."""
    there = figures_in(rows)
    usual = {"mass", "thickness", "thinnest", *(f"mode{mode}" for mode in USUAL_MODES), *SHOWN_CONSTANTS}
    return [name for name in there if name in usual]


def head_of(name: str) -> str:
    """Return how a figure is called above its column."""
    return HEADS.get(name) or name.replace("mode", "Mode ")


def _told(row: Row) -> Text:
    """Return a plate in words: what it is called, what it is of, how far it is."""
    cut = "between cuts" if row.cut == "between" else row.cut
    what = ", ".join(text for text in (row.group, row.species, cut) if text)
    return Text.assemble((row.name, "bold"), *(f"\n{text}" for text in (what, row.stage) if text))


def figure_in_words(name: str, figure: Figure | None) -> str:
    """Write a figure with half its band where that counts; a star where the room is not known."""
    if figure is None:
        return ""
    digits = {"Hz": 0, "g": 1, "kg/m3": 0}.get(unit_of(name), 2)
    half = f"{0.5 * (figure.high - figure.low):.{digits}f}"
    band = f"±{half}" if float(half) > 0 else ""
    return f"{figure.value:.{digits}f}{band}{'' if figure.brought else '*'}"


def _said(answer: BookAnswer, shown: int) -> Iterator[str]:
    more = f", the first {shown} shown (--first 0 shows all)" if shown < len(answer.rows) else ""
    yield f"{len(answer.rows)} of {answer.all_plates} plates{more}."
    yield from said_of_figures(answer)
    if answer.trend is not None:
        yield from said_of_trend(answer.trend)


def said_of_figures(answer: BookAnswer) -> Iterator[str]:
    """Yield in words what the figures of the table are."""
    room = answer.room
    yield (
        f"Mass and modes are the newest, brought to {room.temperature_c:g} °C and {room.humidity_pct:g} %; ± what the "
        "rules of the weather leave open; * taken in a room that the log does not name."
    )
    if answer.like is not None:
        yield _said_of_likeness(answer.like)


def _said_of_likeness(like: str) -> str:
    scales = ", ".join(f"{name} {100 * scale:g} %" for name, scale in SCALES.items())
    return (
        f"Steps off: distance from {like}, the root mean square over the figures that both have, in steps of: {scales}, "
        f"elastic constants {100 * CONSTANT:g} %. Only plates of the same kind that share half its figures are compared."
    )
