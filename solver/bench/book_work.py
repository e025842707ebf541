"""The book of all plates read in a process of its own, as a table or as a file for other programs."""

import json
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Literal

from solver.bench.book_question import BookQuestion, request_of
from solver.bench.page_words import in_page_words
from solver.bench.told import Answer
from solver.bench.work import Progress
from solver.commands.book import book_answer
from solver.commands.book_answer import (
    BookAnswer,
    book_as_json,
    columns_shown,
    figure_in_words,
    head_of,
    said_of_figures,
)
from solver.commands.book_drawn import scatter_of
from solver.commands.book_files import write_csv, write_parquet
from solver.commands.book_rows import unit_of
from solver.commands.book_trend import said_of_trend
from solver.viewer.book_scatter import Scatter, scatter_figure
from solver.viewer.dark_page import in_the_dark
from solver.viewer.page_files import page_as_svg

FileKind = Literal["csv", "parquet"]


def book_order(shelf: Path, like: Path | None, question: BookQuestion, kind: FileKind | None) -> str:
    """Return what is to be read as it is handed to the process; raises InputError for what cannot be asked."""
    request_of(question, shelf, like)
    return json.dumps(
        {
            "shelf": str(shelf),
            "like": None if like is None else str(like),
            "question": question.model_dump(mode="json"),
            "kind": kind,
        }
    )


def _read(progress: Progress, order: Mapping[str, object]) -> BookAnswer:
    progress.say("Reading the plates", 0.1)
    question = BookQuestion.model_validate_json(json.dumps(order["question"]))
    like = None if order["like"] is None else Path(str(order["like"]))
    return book_answer(request_of(question, Path(str(order["shelf"])), like))


def read_book(progress: Progress, order_text: str) -> Answer:
    """Return the object of ``platewright book --json``, with the cells of its table, and a drawing where one was asked for.

    Raises InputError as that command.
    """
    answer = _read(progress, json.loads(order_text))
    columns = columns_shown(answer.rows)
    told: Answer = {
        **book_as_json(answer),
        "all_plates": answer.all_plates,
        "columns": [{"name": name, "head": head_of(name), "unit": unit_of(name)} for name in columns],
        "cells": [[figure_in_words(name, row.figures.get(name)) for name in columns] for row in answer.rows],
        "remarks": [in_page_words(words) for words in (said_of_trend(answer.trend) if answer.trend else ())],
        "words": [in_page_words(words) for words in said_of_figures(answer)],
        "left_out": [in_page_words(words) for words in answer.left_out],
    }
    if answer.trend is None:
        return told
    progress.say("Drawing", 0.7)
    picture = page_as_svg(scatter_figure(_worded(scatter_of(answer))))
    return {**told, "picture": picture, "picture_dark": in_the_dark(picture)}


def _worded(scatter: Scatter) -> Scatter:
    """Return what is drawn with its figures called as they are on the page."""
    title, across, up, *said = map(in_page_words, (scatter.title, scatter.across, scatter.up, *scatter.said))
    return replace(scatter, title=title, across=across, up=up, said=tuple(said))


def write_book(progress: Progress, order_text: str) -> bytes:
    """Return the file that ``platewright book --csv`` or ``--parquet`` writes; raises InputError as that command."""
    order = json.loads(order_text)
    answer = _read(progress, order)
    progress.say("Writing", 0.7)
    write = {"csv": write_csv, "parquet": write_parquet}[order["kind"]]
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / f"book.{order['kind']}"
        write(answer.rows, path)
        return path.read_bytes()
