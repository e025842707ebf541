"""``platewright book``: all plates as one table, the trend of two figures, and the plates most like a given one."""

from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from solver.commands.book_request import BookRequest, chosen
from solver.commands.json_answer import print_json
from solver.core.errors import InputError

if TYPE_CHECKING:
    from solver.advice.alike import Likeness
    from solver.commands.book_answer import BookAnswer
    from solver.commands.book_rows import Row


def run_book(request: BookRequest, out: Console) -> None:
    """Print the plates that were asked for as a table or as JSON, and write the files and the picture asked for.

    Raises
    ------
    InputError
        If there is no book, no plate is left by what was asked for, or a file cannot be written.
    """
    answer = book_answer(request)
    if request.as_json:
        from solver.commands.book_answer import book_as_json

        print_json(book_as_json(answer), out)
    else:
        from solver.commands.book_answer import book_as_table

        out.print(book_as_table(answer, request.first))
    _write(request, answer, out)


def book_answer(request: BookRequest) -> "BookAnswer":
    """Return the plates that were asked for, with what is told of them; raises InputError as `run_book`."""
    from solver.commands.book_answer import BookAnswer
    from solver.commands.book_rows import read_rows
    from solver.commands.book_trend import book_trend

    everything, left_out = read_rows(request.folder, request.room)
    if not everything:
        raise InputError(_none_read(request.folder, left_out))
    rows = chosen(everything, request)
    likeness: tuple[Likeness, ...] = ()
    if request.like is not None:
        rows, likeness = _by_likeness(request, rows)
    if not rows:
        other = "" if request.like is None else f" and of the kind of {request.like}, besides itself"
        raise InputError(
            f"{request.folder}: {_none(len(everything), len(left_out))} as asked for{other}{_but(len(left_out))}; expected "
            "at least one that is. Ask for less."
        )
    return BookAnswer(
        tuple(rows),
        len(everything),
        request.room,
        book_trend(*request.scatter, rows) if request.scatter else None,
        likeness,
        request.like.name if request.like else None,
        tuple(left_out),
    )


def _none_read(folder: Path, left_out: list[str]) -> str:
    one = len(left_out) == 1
    said = "its one plate cannot be read" if one else f"none of its {len(left_out)} plates can be read"
    return f"{folder}: {said}; expected at least one that can. {left_out[0]}"


def _none(read: int, unread: int) -> str:
    """Say of the plates that were read that none of them is, which the rest of the sentence tells."""
    which = " that can be read" if unread else ""
    return f"its one plate{which} is not" if read == 1 else f"none of its {read} plates{which} is"


def _but(unread: int) -> str:
    """Say how many plates are not looked at, where some are not."""
    return f" ({'another' if unread == 1 else f'{unread} others'} cannot be read)" if unread else ""


def _by_likeness(request: BookRequest, rows: "list[Row]") -> "tuple[list[Row], tuple[Likeness, ...]]":
    """Return the rows of the given plate's kind, the most alike first, and how alike they are."""
    from solver.advice.alike import likenesses
    from solver.commands.book_rows import row_of
    from solver.plate_folder.book import read_page

    assert request.like is not None, "asked for only then"
    given = row_of(read_page(request.like), request.room)
    itself = request.like.resolve()
    others = [
        row for row in rows if row.role == given.role and (request.folder / row.name).resolve() != itself
    ]
    found = likenesses(_values(given), [_values(row) for row in others])
    return [others[likeness.place] for likeness in found], tuple(found)


def _values(row: "Row") -> dict[str, float]:
    return {name: figure.value for name, figure in row.figures.items()}


def _write(request: BookRequest, answer: "BookAnswer", out: Console) -> None:
    """Write what was asked for, and say so."""
    from solver.commands.book_files import write_csv, write_parquet

    written = []
    if request.csv is not None:
        write_csv(answer.rows, request.csv)
        written.append(request.csv)
    if request.parquet is not None:
        write_parquet(answer.rows, request.parquet)
        written.append(request.parquet)
    if request.picture is not None and answer.trend is not None:
        from solver.commands.book_drawn import scatter_of
        from solver.viewer.book_scatter import draw_scatter

        written += draw_scatter(scatter_of(answer), request.picture)
    if written and not request.as_json:
        out.print(Text("Written: " + ", ".join(map(str, written))))
