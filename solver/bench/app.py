"""The bench as a web application: the page's files, and one group of routes for each thing a maker does."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from solver.bench import (
    bar_task,
    book_routes,
    brought_routes,
    describe_task,
    diary_task,
    listen_task,
    modes_task,
    pair_routes,
    plate_routes,
    powder_task,
    sheet_task,
    start_routes,
    thin_task,
    wood_task,
)
from solver.bench.answers import refused
from solver.bench.guard import Guard
from solver.bench.state import BenchState
from solver.core.errors import InputError

ALIVE = "/api/alive"
OPEN = frozenset({ALIVE, start_routes.KEY})
"""What is answered without the key."""

TASKS = (
    describe_task,
    thin_task,
    modes_task,
    listen_task,
    powder_task,
    bar_task,
    wood_task,
    diary_task,
    sheet_task,
)
"""What a maker can do, each with its ``ROUTES``; the page has a module of the same name for each."""


def make_app(state: BenchState) -> ASGIApp:
    """Return the guarded application."""
    routes: list[BaseRoute] = [
        Route(ALIVE, _alive),
        *start_routes.ROUTES,
        *plate_routes.ROUTES,
        *brought_routes.ROUTES,
        *pair_routes.ROUTES,
        *book_routes.ROUTES,
        *(route for task in TASKS for route in task.ROUTES),
        Mount("/", StaticFiles(directory=page_folder(), html=True)),
    ]

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        yield
        state.jobs.stop_all()
        for plate in state.plates.all():
            plate.drop_brought()
        if state.start_file is not None:
            state.start_file.unlink(missing_ok=True)  # it opens nothing any more

    app = Starlette(routes=routes, lifespan=lifespan, exception_handlers={InputError: refused})
    app.state.bench = state
    return Guard(app, state.key, lambda: state.port, OPEN)


def page_folder() -> Path:
    """Return the folder of the page's files inside the package."""
    return Path(str(resources.files("solver.bench") / "static"))


async def _alive(_: Request) -> JSONResponse:
    """Tell that the bench is there, also to a page that lost its key."""
    return JSONResponse({})
