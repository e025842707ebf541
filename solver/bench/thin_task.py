"""Thin: strokes of a scraper on the screen, kept as named trials apart from the plate that was measured."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import Question, asked, in_thread
from solver.bench.drawn_told import ShavingMapsShown
from solver.bench.plate_routes import MarkedQuestion
from solver.bench.plates import OpenPlate
from solver.bench.state import BenchState, bench_of, plate_of
from solver.bench.told import JobTold, Written
from solver.bench.trial_told import AllTrials, PlannedTrial, Trials
from solver.core.errors import InputError
from solver.plate_folder.trial_schema import StrokeTable

if TYPE_CHECKING:
    from solver.bench.plan_work import PlanOutcome
    from solver.bench.solving import ShavingMaps
    from solver.bench.trial_runs import TrialRuns

NOT_LIVE = "The scraper is not ready yet; wait until it is, or read the plate again."
MILLI_HZ = 1e-3


class NamedQuestion(Question):
    """Begin a trial of this name."""

    name: str = Field(max_length=60)


STROKE_FIELDS = {"stroke.width_mm": "Scraper, mm wide", "stroke.cut_mm": "Cut, mm deep"}


class FirstStrokeQuestion(NamedQuestion):
    """A stroke where there is no trial yet: one of this name begins with it, once the scraper was lifted."""

    called: ClassVar[Mapping[str, str]] = STROKE_FIELDS
    stroke: StrokeTable
    done: bool


class TrialQuestion(Question):
    """Something about a trial as the page knows it."""

    version: str


class StrokeQuestion(TrialQuestion):
    """A stroke; ``done`` once the scraper was lifted."""

    called: ClassVar[Mapping[str, str]] = STROKE_FIELDS
    stroke: StrokeTable
    done: bool


def _runs(plate: OpenPlate) -> "TrialRuns":
    if plate.solved.runs is None:
        raise InputError(NOT_LIVE)
    return plate.solved.runs


async def _trials(request: Request) -> Response:
    runs = _runs(plate_of(request))
    return await in_thread(lambda: _all_trials(runs))


def _all_trials(runs: "TrialRuns") -> AllTrials:
    return {"untouched": runs.untouched(), "trials": runs.listed()}


async def _begin(request: Request) -> Response:
    runs, question = _runs(plate_of(request)), await asked(request, NamedQuestion)
    return await in_thread(lambda: runs.begin(question.name))


async def _trial(request: Request) -> Response:
    runs, key = _runs(plate_of(request)), request.path_params["trial"]
    return await in_thread(lambda: runs.whole(key))


async def _lines(request: Request) -> Response:
    runs, key = _runs(plate_of(request)), request.path_params["trial"]
    return await in_thread(lambda: runs.lines(key))


def _check_cuts(stroke: StrokeTable) -> None:
    if stroke.cut_mm == 0:
        raise InputError(
            "Cut, mm deep: it is 0 or empty; expected more than 0 to 10. Write how deep one cut goes."
        )


async def _first_stroke(request: Request) -> Response:
    runs, question = _runs(plate_of(request)), await asked(request, FirstStrokeQuestion)
    _check_cuts(question.stroke)
    if question.done:
        return await in_thread(lambda: runs.begin_with(question.name, question.stroke))
    return await in_thread(lambda: runs.try_first(question.stroke))


async def _stroke(request: Request) -> Response:
    runs, key = _runs(plate_of(request)), request.path_params["trial"]
    question = await asked(request, StrokeQuestion)
    _check_cuts(question.stroke)
    act = runs.stroke if question.done else runs.try_stroke
    return await in_thread(lambda: act(key, question.version, question.stroke))


async def _act(request: Request, act: Callable[[str, str], Mapping[str, object]]) -> Response:
    question, key = await asked(request, TrialQuestion), request.path_params["trial"]
    return await in_thread(partial(act, key, question.version))


async def _undo(request: Request) -> Response:
    return await _act(request, _runs(plate_of(request)).undo)


async def _redo(request: Request) -> Response:
    return await _act(request, _runs(plate_of(request)).redo)


async def _throw_away(request: Request) -> Response:
    runs = _runs(plate_of(request))

    def thrown(key: str, version: str) -> Trials:
        runs.throw_away(key, version)
        return {"trials": runs.listed()}

    return await _act(request, thrown)


async def _shavings(request: Request) -> Response:
    plate = plate_of(request)
    if plate.solved.shavings is None:
        raise InputError(NOT_LIVE)
    maps = plate.solved.shavings
    return await in_thread(lambda: _maps(maps))


def _maps(maps: "ShavingMaps") -> ShavingMapsShown:
    """Return what 0.1 mm from 1 cm2 does to each tone at the grid's points [mHz], null where it is not known."""
    import numpy as np

    return {
        "milli_hz": [
            [None if np.isnan(value) else round(float(value) / MILLI_HZ, 1) for value in tone]
            for tone in maps.hz
        ]
    }


class CarvedQuestion(TrialQuestion):
    """The wood of a trial was taken from the plate whose folder is still as ``mark`` says."""

    mark: str


async def _carved(request: Request) -> Response:
    plate, key = plate_of(request), request.path_params["trial"]
    question = await asked(request, CarvedQuestion)
    runs = _runs(plate)

    def taken() -> Written:
        from solver.bench.carving import take_from_plate

        return {"written": [*take_from_plate(plate, runs, key, question.version, question.mark)]}

    return await in_thread(taken)


class PlanQuestion(MarkedQuestion):
    """Wishes by the trade's numbers [Hz], how thin it may get, how deep one may cut, the same on both sides or not."""

    wants: dict[str, float]
    least_mm: float | None = None
    max_removal_mm: float | None = None
    symmetric: bool


async def _plan(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, PlanQuestion)
    return await in_thread(lambda: _planning(state, plate, question))


def _planning(state: BenchState, plate: OpenPlate, question: PlanQuestion) -> JobTold:
    from solver.bench.plan_work import make_planned, plan_order
    from solver.commands.plan_limits import read_limits
    from solver.commands.plan_request import PlanRequest, read_wishes

    read, runs = plate.known(question.mark), _runs(plate)
    if not question.wants:
        raise InputError(
            "Nothing is wished for; expected a tone in one of the fields Mode, Hz. Write the tone that you want."
        )
    wants = tuple(f"{name}={hz:g}" for name, hz in question.wants.items())
    least = () if question.least_mm is None else (f"{question.least_mm:g}",)
    request = PlanRequest(wants, (), least, question.max_removal_mm, question.symmetric)
    wanted = read.description.table.wanted
    read_wishes(request, wanted)  # what cannot be wished for is said at once
    read_limits(request, wanted, read.plate)
    order = plan_order(plate.folder, request)
    return state.jobs.begin("The carving plan", make_planned, order, partial(_planned, runs)).told()


def _planned(runs: "TrialRuns", outcome: "PlanOutcome") -> PlannedTrial:
    return {"plan": outcome.answer, "trial": runs.draw_plan("plan", outcome.table)}


_TRIAL = "/api/plates/{plate}/trials/{trial}"
ROUTES = (
    Route("/api/plates/{plate}/trials", _trials),
    Route("/api/plates/{plate}/trials", _begin, methods=["POST"]),
    Route("/api/plates/{plate}/first-stroke", _first_stroke, methods=["POST"]),
    Route("/api/plates/{plate}/shavings", _shavings),
    Route("/api/plates/{plate}/plan", _plan, methods=["POST"]),
    Route(_TRIAL, _trial),
    Route(f"{_TRIAL}/lines", _lines),
    Route(f"{_TRIAL}/stroke", _stroke, methods=["POST"]),
    Route(f"{_TRIAL}/undo", _undo, methods=["POST"]),
    Route(f"{_TRIAL}/redo", _redo, methods=["POST"]),
    Route(f"{_TRIAL}/carved", _carved, methods=["POST"]),
    Route(f"{_TRIAL}/throw-away", _throw_away, methods=["POST"]),
)
