"""The book: the folders in which plates lie, their table, files of it, and a plate of it brought to the bench."""

from functools import partial
from pathlib import Path
from typing import Literal

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import Question, asked, in_thread
from solver.bench.book_question import BookQuestion, figures_to_choose
from solver.bench.plates import OpenPlate
from solver.bench.state import BenchState, bench_of, plate_of
from solver.bench.told import JobTold, Shelves, Size
from solver.bench.work import whole_result
from solver.core.errors import InputError

MEDIA = {"csv": "text/csv; charset=utf-8", "parquet": "application/vnd.apache.parquet"}


class FileQuestion(Question):
    """The same plates as a file."""

    kind: Literal["csv", "parquet"]
    book: BookQuestion


class TakeQuestion(Question):
    """Bring a plate of a shelf to the bench."""

    shelf: str
    name: str


async def _shelves(request: Request) -> Response:
    state = bench_of(request)
    plate_of(request)
    return await in_thread(lambda: _offered(state))


def _offered(state: BenchState) -> Shelves:
    """Return the folders in which plates lie that are open or known: those of the open ones first."""
    from solver.plate_folder.book import plate_folders

    opened = [plate.folder for plate in state.plates.all()]
    places = dict.fromkeys(folder.parent for folder in (*opened, *state.known().all))
    return {
        "shelves": [
            {"shelf": state.shelves.offer(place), "folder": str(place), "plates": len(plate_folders(place))}
            for place in places
        ],
        "figures": [*figures_to_choose()],
    }


async def _read(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, BookQuestion)
    return await in_thread(lambda: _begin(state, plate, question))


def _begin(state: BenchState, plate: OpenPlate, question: BookQuestion) -> JobTold:
    from solver.bench.book_work import book_order, read_book

    order = book_order(*_places(state, plate, question), question, None)
    return state.jobs.begin("The book", read_book, order, whole_result).told()


def _places(state: BenchState, plate: OpenPlate, question: BookQuestion) -> tuple[Path, Path | None]:
    """Return the folder of plates, and the plate to which they are compared."""
    return state.shelves.offered(question.shelf), plate.folder if question.alike else None


async def _write(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, FileQuestion)
    return await in_thread(lambda: _begin_file(state, plate, question))


def _begin_file(state: BenchState, plate: OpenPlate, question: FileQuestion) -> JobTold:
    from solver.bench.book_work import book_order, write_book

    order = book_order(*_places(state, plate, question.book), question.book, question.kind)
    keep = partial(_keep, plate, question.kind)
    return state.jobs.begin("The book as a file", write_book, order, keep).told()


def _keep(plate: OpenPlate, kind: str, content: bytes) -> Size:
    plate.book_files[kind] = content
    return {"bytes": len(content)}


async def _file(request: Request) -> Response:
    plate, kind = plate_of(request), request.path_params["kind"]
    if kind not in plate.book_files:
        raise InputError("That file was not written yet; expected one that was. Write it first.")
    headers = {"content-disposition": f'attachment; filename="book.{kind}"'}
    return Response(plate.book_files[kind], media_type=MEDIA[kind], headers=headers)


async def _take(request: Request) -> Response:
    state, question = bench_of(request), await asked(request, TakeQuestion)
    return await in_thread(lambda: {"plate": state.open(_plate_in(state, question)).key})


def _plate_in(state: BenchState, question: TakeQuestion) -> Path:
    """Return the folder of a plate that lies on a shelf, compared by name with those that do and never joined to a path."""
    from solver.plate_folder.book import plate_folders

    for folder in plate_folders(state.shelves.offered(question.shelf)):
        if folder.name == question.name:
            return folder
    raise InputError("No plate of that name lies there; expected one of the table. Show the table again.")


ROUTES = (
    Route("/api/plates/{plate}/book", _shelves),
    Route("/api/plates/{plate}/book", _read, methods=["POST"]),
    Route("/api/plates/{plate}/book/file", _write, methods=["POST"]),
    Route("/api/plates/{plate}/book/file/{kind}", _file),
    Route("/api/take", _take, methods=["POST"]),
)
