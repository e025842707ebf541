"""A plate on the page: its picture, whether its files were changed, and the work that goes on for it."""

from functools import partial
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from solver.bench.answers import Question, asked, in_thread, sentences
from solver.bench.fingerprint import fingerprint
from solver.bench.plate_work import solve_for_page
from solver.bench.plates import OpenPlate, Solved
from solver.bench.state import BenchState, bench_of, plate_of

if TYPE_CHECKING:
    from solver.bench.work import Job
    from solver.commands.tones import Json


class MarkedQuestion(Question):
    """Something about the plate as the page knows it."""

    mark: str


@sentences
async def _plate(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: _picture(plate))


def _picture(plate: OpenPlate) -> "dict[str, Json]":
    from solver.bench.picture import picture_as_json

    read = plate.read()
    return {
        "plate": plate.key,
        "folder": str(plate.folder),
        "mark": read.mark,
        **picture_as_json(read.plate, read.drawing, read.description),
    }


@sentences
async def _mark(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: {"mark": fingerprint(plate.folder)})


@sentences
async def _solve(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, MarkedQuestion)
    return await in_thread(lambda: _solving(state, plate, question.mark).told())


def begin_solving(state: BenchState, plate: OpenPlate) -> None:
    """Begin to solve a plate before any page asks for it; what cannot be understood the page tells when it reads it."""
    _begun(state, plate, fingerprint(plate.folder))


def _solving(state: BenchState, plate: OpenPlate, mark: str) -> "Job":
    """Begin to solve a plate as the page knows it, or return the work that is at it."""
    plate.known(mark)
    return _begun(state, plate, mark)


def _begun(state: BenchState, plate: OpenPlate, mark: str) -> "Job":
    with plate.lock:
        job = plate.solved.job
        if plate.solved.mark != mark or job is None or job.came_to_nothing:
            if job is not None:
                job.stop()
            plate.solved = Solved(mark)
            job = state.jobs.begin(
                "The tones of the plate", solve_for_page, str(plate.folder), partial(_keep, plate, mark)
            )
            plate.solved.job = job
    state.plates.using(plate)
    return job


def _keep(plate: OpenPlate, mark: str, _: str, value: object) -> None:
    plate.take(mark, value)


@sentences
async def _job(request: Request) -> Response:
    return JSONResponse(bench_of(request).jobs.find(request.path_params["job"]).told())


@sentences
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
