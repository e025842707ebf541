"""Bar: another bar tried beside the one that the plate has, and written into its description when the maker says so."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar

from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import asked, in_thread
from solver.bench.plate_routes import MarkedQuestion
from solver.bench.plates import OpenPlate
from solver.bench.state import BenchState, bench_of, plate_of
from solver.bench.told import Answer, BarShown, BarWritten, JobTold
from solver.core.errors import InputError
from solver.plate_folder.quantities import BarHeight, BarWidth, Place

if TYPE_CHECKING:
    from solver.bench.bar_work import BarComparison, BarOrder


class BarQuestion(MarkedQuestion):
    """The bar to be tried."""

    called: ClassVar[Mapping[str, str]] = {
        "from_mm.0": "The bar's lower end, mm up",
        "from_mm.1": "The bar's lower end, mm from the joint",
        "to_mm.0": "The bar's upper end, mm up",
        "to_mm.1": "The bar's upper end, mm from the joint",
        "width_mm": "Width, mm",
        "height_mm": "Height, mm",
    }
    from_mm: tuple[Place, Place] = Field(strict=False)
    to_mm: tuple[Place, Place] = Field(strict=False)
    width_mm: BarWidth
    height_mm: BarHeight


async def _present(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: _described(plate))


def _described(plate: OpenPlate) -> BarShown:
    """Return the bar from which the maker begins."""
    from solver.bench.bar_work import highest, present_bar
    from solver.core.units import MM

    read = plate.read().plate
    bar = present_bar(read)
    return {
        "usual": read.bar is None,
        "from_mm": [round(value / MM, 2) for value in bar.start.tolist()],
        "to_mm": [round(value / MM, 2) for value in bar.end.tolist()],
        "length_mm": round(bar.length / MM, 2),
        "width_mm": round(bar.width / MM, 2),
        "height_mm": round(highest(bar) / MM, 2),
    }


async def _try(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, BarQuestion)
    return await in_thread(lambda: _begin(state, plate, question))


def _begin(state: BenchState, plate: OpenPlate, question: BarQuestion) -> JobTold:
    from solver.bench.bar_work import tried_bar, try_bar

    order = _order(plate, question)
    tried_bar(plate.known(question.mark).plate, order)  # what cannot be glued in is said at once
    return state.jobs.begin("The other bar", try_bar, order.as_text, _compared).told()


def _compared(comparison: "BarComparison") -> Answer:
    """Return what the page shows of two bars: the command's rows, and the node lines of both."""
    from solver.bench.picture import in_mm
    from solver.commands.bar_answer import bar_as_json
    from solver.plate_folder.bar_change import bar_lines

    tried = comparison.sweep.trials[-1].bar
    assert tried is not None, "only the first trial has none"
    return {
        **bar_as_json(comparison.sweep, None),
        "lines_mm": [[[in_mm(line) for line in tone] for tone in lines] for lines in comparison.lines],
        "in_toml": bar_lines(tried),
    }


async def _use(request: Request) -> Response:
    plate, question = plate_of(request), await asked(request, BarQuestion)
    return await in_thread(lambda: _used(plate, question))


def _used(plate: OpenPlate, question: BarQuestion) -> BarWritten:
    """Write the bar into plate.toml, if it is still as the page knows it and a plate comes of it."""
    from meshes.input_file import file_text
    from solver.bench.bar_work import tried_bar
    from solver.plate_folder.bar_change import bar_lines, with_bar
    from solver.plate_folder.change import write_change
    from solver.plate_folder.description import PLATE_FILE

    with plate.lock:
        bar = tried_bar(plate.known(question.mark).plate, _order(plate, question))
        files = {PLATE_FILE: with_bar(file_text(plate.folder / PLATE_FILE), bar)}
        write_change(plate.folder, files, lambda: plate.check_unchanged(question.mark))
    return {"written": PLATE_FILE, "lines": bar_lines(bar)}


def _order(plate: OpenPlate, question: BarQuestion) -> "BarOrder":
    """Return the bar as it is handed on; raises InputError for one of no height."""
    from solver.bench.bar_work import BarOrder

    if question.height_mm == 0:
        raise InputError(
            "Height, mm: it is 0; expected more than 0 to 60. Write how high the bar is where it is highest."
        )
    return BarOrder(
        str(plate.folder), question.from_mm, question.to_mm, question.width_mm, question.height_mm
    )


ROUTES = (
    Route("/api/plates/{plate}/bar", _present),
    Route("/api/plates/{plate}/bar", _try, methods=["POST"]),
    Route("/api/plates/{plate}/bar/use", _use, methods=["POST"]),
)
