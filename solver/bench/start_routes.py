"""The way in, and the first page: which plates are open, and which may be."""

from pathlib import Path
from typing import Annotated

from pydantic import Field
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from solver.bench.answers import Question, asked, in_thread
from solver.bench.demonstrations import copied_into
from solver.bench.offers import named, new_folder
from solver.bench.plates import OpenPlate
from solver.bench.state import BenchState, bench_of, plate_of
from solver.bench.told import PlateKey, Start

KEY = "/api/key"
"""Where a browser that has no key yet brings its ticket."""


class KeyQuestion(Question):
    """Exchange a ticket for the key of this start."""

    ticket: str


class OpenQuestion(Question):
    """Open what was offered under a key."""

    offer: str


class NewQuestion(Question):
    """Make a new plate like a usual one."""

    like: str
    name: Annotated[str, Field(max_length=200)]
    length_mm: float | None = None


async def _key(request: Request) -> Response:
    state, question = bench_of(request), await asked(request, KeyQuestion)
    state.tickets.use(question.ticket)
    return JSONResponse({"key": state.key})


async def _start(request: Request) -> Response:
    state = bench_of(request)
    return await in_thread(lambda: _offers(state))


async def _open(request: Request) -> Response:
    state, question = bench_of(request), await asked(request, OpenQuestion)
    return await in_thread(lambda: {"plate": _opened(state, state.offers.offered(question.offer)).key})


async def _offered_card(request: Request) -> Response:
    state, offer = bench_of(request), request.path_params["offer"]
    return await in_thread(lambda: state.cards.of(state.offers.offered(offer)))


async def _open_card(request: Request) -> Response:
    state, plate = bench_of(request), plate_of(request)
    return await in_thread(lambda: state.cards.of(plate.folder))


async def _new(request: Request) -> Response:
    state, question = bench_of(request), await asked(request, NewQuestion)
    return await in_thread(lambda: _made(state, question))


def _opened(state: BenchState, folder: Path) -> OpenPlate:
    """Open a folder that was offered; of a plate that was offered as a demonstration, a copy."""
    is_shown = folder in state.known().demonstrations
    return state.open(copied_into(state.place, folder) if is_shown else folder)


def _made(state: BenchState, question: NewQuestion) -> PlateKey:
    from solver.stock import write_stock_plate

    folder = new_folder(state.place, question.name)
    write_stock_plate(folder, question.like, question.length_mm)
    return {"plate": state.open(folder).key}


def _offers(state: BenchState) -> Start:
    """Return what is open and what is offered."""
    from solver.stock import LIKE

    known = state.known()
    return {
        "open": [{"plate": plate.key, **named(plate.folder)} for plate in state.plates.all()],
        "recent": state.offers.told(known.recent),
        "beside": state.offers.told(known.beside),
        "demonstrations": state.offers.told(known.demonstrations),
        "like": [*LIKE],
        "place": str(state.place),
    }


ROUTES = (
    Route(KEY, _key, methods=["POST"]),
    Route("/api/start", _start),
    Route("/api/offers/{offer}/card", _offered_card),
    Route("/api/plates/{plate}/card", _open_card),
    Route("/api/open", _open, methods=["POST"]),
    Route("/api/new", _new, methods=["POST"]),
)
