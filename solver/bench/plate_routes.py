"""A plate on the page: its picture, whether its files were changed, and the work that goes on for it."""

import time
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from solver.bench.answers import Question, asked, in_thread
from solver.bench.drawn_told import PlatePicture
from solver.bench.fingerprint import body_fingerprint, fingerprint
from solver.bench.plate_work import solve_for_page
from solver.bench.plates import OpenPlate, Solved
from solver.bench.state import BenchState, bench_of, plate_of
from solver.bench.work import nothing_more
from solver.core.errors import InputError

if TYPE_CHECKING:
    from solver.bench.work import Job

Part = TypeVar("Part")
_LOOK_S = 0.05


class MarkedQuestion(Question):
    """Something about the plate as the page knows it."""

    mark: str


async def _plate(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: _picture(plate))


def _picture(plate: OpenPlate) -> PlatePicture:
    from solver.bench.picture import picture_as_json

    read = plate.read()
    return {
        "plate": plate.key,
        "folder": str(plate.folder),
        "mark": read.mark,
        **picture_as_json(read.plate, read.drawing, read.description),
    }


async def _mark(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: {"mark": fingerprint(plate.folder)})


async def _solve(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, MarkedQuestion)
    return await in_thread(lambda: _begun(state, plate, plate.known(question.mark).body).told())


def begin_solving(state: BenchState, plate: OpenPlate) -> None:
    """Begin to solve a plate before any page asks for it; what cannot be understood the page tells when it reads it."""
    _begun(state, plate, body_fingerprint(plate.folder))


def _begun(state: BenchState, plate: OpenPlate, body: str) -> "Job":
    """Begin to solve a plate, or return the work that is at it."""
    with plate.lock:
        job = plate.solved.job
        if plate.solved.body != body or job is None or job.came_to_nothing:
            if job is not None:
                job.stop()
            plate.solved = Solved(body)
            keep = partial(plate.take, body)
            job = state.jobs.begin(
                "The tones of the plate", solve_for_page, str(plate.folder), nothing_more, keep
            )
            plate.solved.job = job
    state.plates.using(plate)
    return job


def awaited(state: BenchState, plate: OpenPlate, body: str, part: Callable[[Solved], Part | None]) -> Part:
    """Return a part of what is computed of a plate, as soon as it is there; begin to compute it if need be.

    Raises
    ------
    InputError
        If it will not come: the plate cannot be solved, or somebody stopped that.
    """
    with plate.lock:
        job, solved = _begun(state, plate, body), plate.solved
    while (value := part(solved)) is None:
        if job.is_over and part(solved) is None:
            raise InputError(
                job.said
                if job.state in ("refused", "failed")
                else "The tones of this plate were not computed to the end; expected them, to hold this against them. "
                "Try it again."
            )
        time.sleep(_LOOK_S)
    return value


async def _job(request: Request) -> Response:
    return JSONResponse(bench_of(request).jobs.find(request.path_params["job"]).told())


async def _stop(request: Request) -> Response:
    job = bench_of(request).jobs.find(request.path_params["job"])
    job.stop()
    return JSONResponse(job.told())


ROUTES = (
    Route("/api/plates/{plate}", _plate),
    Route("/api/plates/{plate}/mark", _mark),
    Route("/api/plates/{plate}/solve", _solve, methods=["POST"]),
    Route("/api/jobs/{job}", _job),
    Route("/api/jobs/{job}", _stop, methods=["DELETE"]),
)
