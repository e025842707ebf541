"""Wood and weather: the wood's own constants from the log, kept only when asked to, and what another room does."""

from functools import partial
from typing import TYPE_CHECKING, Annotated

from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import asked, in_thread
from solver.bench.plate_routes import MarkedQuestion
from solver.bench.plates import OpenPlate
from solver.bench.state import BenchState, bench_of, plate_of
from solver.bench.told import Answer, JobTold, WoodShown, WrittenOne
from solver.bench.typed_text import Short, typed_room
from solver.bench.work import whole_result
from solver.core.errors import InputError

if TYPE_CHECKING:
    from solver.bench.wood_work import FoundWood

Entries = Annotated[list[Short], Field(max_length=2000)]


class FitQuestion(MarkedQuestion):
    """Which entries of the log are to tell of the wood."""

    entries: Entries


class KeepQuestion(FitQuestion):
    """Keep the wood found from these entries; ``confirmed`` doubts were looked at."""

    confirmed: int


class RoomQuestion(MarkedQuestion):
    """The other room as typed, and the one from which the plate comes; empty for plate.toml's."""

    to: tuple[Short, Short] = Field(strict=False)
    start: tuple[Short, Short] = Field(strict=False)


async def _present(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: _described(plate))


def _described(plate: OpenPlate) -> WoodShown:
    """Return which entries have tones and which of them are usually fitted, the record that holds, and the stated room."""
    from solver.commands.fit import chosen_entries
    from solver.plate_folder.description import read_description

    description = read_description(plate.folder)
    heard = {name: entry for name, entry in description.log.items() if entry.modes_hz or entry.tones_hz}
    usual = chosen_entries(description.log, ()) if heard else ()
    table = description.table
    return {
        "entries": [
            {
                "entry": name,
                "taken": entry.taken.isoformat(),
                "stage": entry.stage,
                "tones": len(entry.modes_hz) + len(entry.tones_hz),
                "usual": name in usual,
            }
            for name, entry in heard.items()
        ],
        "holds": table.fit_that_holds.date.isoformat() if table.fit_that_holds else None,
        "room": None if table.climate is None else [table.climate.temperature_c, table.climate.humidity_pct],
    }


async def _fit(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, FitQuestion)
    return await in_thread(lambda: _begin_fit(state, plate, question))


def _begin_fit(state: BenchState, plate: OpenPlate, question: FitQuestion) -> JobTold:
    from solver.bench.wood_work import find_wood, wood_order

    plate.known(question.mark)
    if not question.entries:
        raise InputError("No entry is chosen; expected at least one with tones. Tick one.")
    order = wood_order(plate.folder, question.entries)
    return state.jobs.begin("The wood", find_wood, order, partial(_found, plate)).told()


def _found(plate: OpenPlate, found: "FoundWood") -> Answer:
    """Hold what was found until the maker says that it is to be kept."""
    plate.wood = found
    return {**found.answer, "why_not": found.why_not}


async def _keep(request: Request) -> Response:
    plate, question = plate_of(request), await asked(request, KeepQuestion)
    return await in_thread(lambda: _kept(plate, question))


def _kept(plate: OpenPlate, question: KeepQuestion) -> WrittenOne:
    """Write the record that ``platewright fit --write`` writes, into the folder as it was when the fit began."""
    from datetime import datetime

    from solver.plate_folder.fitted_table import record_text, write_record

    with plate.lock:
        plate.check_unchanged(question.mark)
        found = plate.wood
        if found is None or [*found.names] != question.entries:
            raise InputError(
                "That wood is not known here any more; expected the last one found. Find it again."
            )
        if found.why_not is not None:
            raise InputError(found.why_not)
        if question.confirmed != found.doubts:
            raise InputError(
                "Not all doubts were looked at; expected each to be ticked. Tick them, or mend the log."
            )
        written = datetime.now().astimezone()
        write_record(plate.folder, found.before, record_text(found.posterior, written, found.names))
        plate.wood = None
    return {"written": written.isoformat(timespec="seconds")}


async def _weather(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, RoomQuestion)
    return await in_thread(lambda: _begin_weather(state, plate, question))


def _begin_weather(state: BenchState, plate: OpenPlate, question: RoomQuestion) -> JobTold:
    from solver.bench.wood_work import tell_weather, weather_order

    plate.known(question.mark)
    start = typed_room(question.start, "The room it comes from") if any(question.start) else None
    order = weather_order(plate.folder, typed_room(question.to, "The other room"), start)
    return state.jobs.begin("The weather", tell_weather, order, whole_result).told()


ROUTES = (
    Route("/api/plates/{plate}/wood", _present),
    Route("/api/plates/{plate}/wood/fit", _fit, methods=["POST"]),
    Route("/api/plates/{plate}/wood", _keep, methods=["POST"]),
    Route("/api/plates/{plate}/weather", _weather, methods=["POST"]),
)
