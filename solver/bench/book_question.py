"""What the page asks of the book, in the terms of ``platewright book``."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from solver.bench.answers import Question
from solver.bench.typed_text import Short, typed_room, with_point
from solver.commands.book_request import FIGURES, WORDS, BookRequest, Bound, figure_called, order_typed
from solver.commands.typed_figures import NUMBER
from solver.core.errors import InputError

if TYPE_CHECKING:
    from solver.plate.climate import Climate

ALL = 0
"""Stands for as many plates as there are."""


class Range(Question):
    """A figure and its ends as typed; an empty end is open."""

    figure: Short
    least: Short
    most: Short


class BookQuestion(Question):
    """Which plates of a shelf, in which order; ``across`` and ``up`` are drawn, both empty for no drawing.

    ``alike`` orders them by how alike they are to the plate on the bench.
    """

    shelf: str
    words: dict[Annotated[str, Field(max_length=9)], Short]
    ranges: list[Range] = Field(max_length=20)
    sort: Short
    descending: bool
    across: Short
    up: Short
    alike: bool
    room: Annotated[tuple[Short, Short], Field(strict=False)]


def request_of(question: BookQuestion, shelf: Path, like: Path | None) -> BookRequest:
    """Return what the options of ``platewright book`` would be; raises InputError for what it does not know."""
    return BookRequest(
        folder=shelf,
        room=_room(question),
        bounds=tuple(bound for one in question.ranges for bound in _bounds(one)),
        words=tuple((_column(name), text) for name, text in question.words.items() if text.strip()),
        sort=order_typed(question.sort),
        descending=question.descending,
        first=ALL,
        scatter=_scatter(question),
        picture=None,
        like=like,
        csv=None,
        parquet=None,
        as_json=True,
    )


def _room(question: BookQuestion) -> "Climate":
    return typed_room(question.room, "The room to which they are brought")


def _column(name: str) -> str:
    if name not in WORDS:
        raise InputError(f"{name} is no column of words; reload the page and try again.")
    return name


def _bounds(one: Range) -> Iterator[Bound]:
    figure = figure_called("The figure", one.figure)
    for text, is_least in ((one.least, True), (one.most, False)):
        if not text.strip():
            continue
        number = with_point(text)
        if not re.fullmatch(NUMBER, number):
            end = "at least" if is_least else "at most"
            raise InputError(f"{figure} {end} '{text}'; expected a number. Write for instance 340.")
        yield Bound(figure, float(number), is_least)


def _scatter(question: BookQuestion) -> tuple[str, str] | None:
    if not question.across and not question.up:
        return None
    across, up = (figure_called("The drawing", name) for name in (question.across, question.up))
    if across == up:
        raise InputError(
            "Both figures of the drawing are the same; expected two. Choose another for one of them."
        )
    return across, up


def figures_to_choose() -> tuple[str, ...]:
    """Return the figures by which plates are chosen and drawn: those of the table, and the usual modes among them."""
    from solver.commands.log_dialogue import USUAL_MODES

    return (*FIGURES[:3], *(f"mode{mode}" for mode in USUAL_MODES), *FIGURES[3:])
