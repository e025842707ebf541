"""The first page: which plates are open, and which may be."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import Question, asked, in_thread, sentences
from solver.bench.offers import demonstration_folders, new_folder, plate_folders
from solver.bench.state import BenchState, bench_of
from solver.errors import InputError
from solver.plate_folder.description import PLATE_FILE, read_description

if TYPE_CHECKING:
    from solver.commands.tones import Json


class OpenQuestion(Question):
    """Open what was offered under a key."""

    offer: str


class NewQuestion(Question):
    """Make a new plate like a usual one."""

    like: str
    name: Annotated[str, Field(max_length=200)]
    length_mm: float | None = None


@sentences
async def _start(request: Request) -> Response:
    state = bench_of(request)
    return await in_thread(lambda: _offers(state))


@sentences
async def _open(request: Request) -> Response:
    state, question = bench_of(request), await asked(request, OpenQuestion)
    return await in_thread(lambda: {"plate": state.open(state.offered(question.offer)).key})


@sentences
async def _new(request: Request) -> Response:
    state, question = bench_of(request), await asked(request, NewQuestion)
    return await in_thread(lambda: _made(state, question))


def _made(state: BenchState, question: NewQuestion) -> "dict[str, Json]":
    from solver.stock import write_stock_plate

    folder = new_folder(state.place, question.name)
    write_stock_plate(folder, question.like, question.length_mm)
    return {"plate": state.open(folder).key}


def _offers(state: BenchState) -> "dict[str, Json]":
    """Return what is open and what is offered."""
    from solver.stock import LIKE

    opened = state.plates.all()
    shown = {plate.folder for plate in opened}
    recent = [path for path in plate_folders(state.memory.folders) if path not in shown]
    here = sorted(path.parent for path in state.place.glob(f"*/{PLATE_FILE}"))
    beside = [path for path in here if path not in {*shown, *recent}]
    demonstrations = [path for path in demonstration_folders() if path not in {*shown, *recent, *beside}]
    return {
        "open": [{"plate": plate.key, **_named(plate.folder)} for plate in opened],
        "recent": [{"offer": state.offer(path), **_named(path)} for path in recent],
        "beside": [{"offer": state.offer(path), **_named(path)} for path in beside],
        "demonstrations": [{"offer": state.offer(path), **_named(path)} for path in demonstrations],
        "like": [*LIKE],
        "place": str(state.place),
    }


def _named(folder: Path) -> "dict[str, Json]":
    """Return what a plate in a folder is called, or that its description cannot be read."""
    try:
        table = read_description(folder).table
    except InputError:
        return {"title": folder.name, "role": None, "folder": str(folder)}
    return {"title": table.title, "role": table.role, "folder": str(folder)}


ROUTES = (
    Route("/api/start", _start),
    Route("/api/open", _open, methods=["POST"]),
    Route("/api/new", _new, methods=["POST"]),
)
