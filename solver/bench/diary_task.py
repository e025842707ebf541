"""Diary: the log as table and chart, and a new entry or a correction, slips asked about before anything is entered."""

from contextlib import ExitStack
from functools import partial

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import asked, in_thread
from solver.bench.brought import called_by_name
from solver.bench.brought_routes import brought_to
from solver.bench.diary_entry import EntryQuestion, form_as_json, typed_in
from solver.bench.page_words import in_page_words
from solver.bench.plate_routes import MarkedQuestion
from solver.bench.plates import OpenPlate
from solver.bench.state import BenchState, bench_of, plate_of
from solver.bench.told import Entered, JobTold
from solver.bench.work import whole_result
from solver.plate_folder.description import read_description


async def _form(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: form_as_json(read_description(plate.folder)))


async def _history(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, MarkedQuestion)
    return await in_thread(lambda: _begin(state, plate, question.mark))


def _begin(state: BenchState, plate: OpenPlate, mark: str) -> JobTold:
    from solver.bench.diary_work import tell_history

    begin = partial(state.jobs.begin, "The log", tell_history, str(plate.folder), whole_result)
    return plate.begun("history", mark, begin).told()


async def _enter(request: Request) -> Response:
    plate, question = plate_of(request), await asked(request, EntryQuestion)
    return await in_thread(lambda: _entered(plate, question))


def _entered(plate: OpenPlate, question: EntryQuestion) -> Entered:
    """Add the entry, unless something in it looks like a slip that the maker has not confirmed."""
    from solver.commands.log import entry_with_doubts, with_files
    from solver.plate_folder.log_writing import add_entry

    keys = {"photo": question.photo, "recording": question.recording, "thickness": question.thickness}
    files = {kind: brought_to(plate, key).path for kind, key in keys.items() if key is not None}
    with plate.lock, ExitStack() as names:
        for path in files.values():
            names.enter_context(called_by_name(path))
        plate.check_unchanged(question.mark)
        description = read_description(plate.folder)
        typed = typed_in(question, description, files)
        entry, doubts = entry_with_doubts(description, typed)
        if doubts and not question.as_typed:
            return {"entered": None, "doubts": [in_page_words(doubt) for doubt in doubts]}
        stamp = add_entry(plate.folder, with_files(plate.folder, typed, entry))
        return {"entered": stamp, "doubts": [*doubts]}


ROUTES = (
    Route("/api/plates/{plate}/log", _form),
    Route("/api/plates/{plate}/log", _enter, methods=["POST"]),
    Route("/api/plates/{plate}/log/history", _history, methods=["POST"]),
)
