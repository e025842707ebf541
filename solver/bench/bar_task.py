"""Bar: another bar tried beside the one that the plate has."""

from typing import TYPE_CHECKING, cast

from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import asked, in_thread, sentences
from solver.bench.plate_routes import MarkedQuestion
from solver.bench.plates import OpenPlate
from solver.bench.state import BenchState, bench_of, plate_of
from solver.plate_folder.quantities import BarHeight, BarWidth, Place

if TYPE_CHECKING:
    from solver.bench.bar_work import BarComparison
    from solver.commands.tones import Json


class BarQuestion(MarkedQuestion):
    """The bar to be tried."""

    from_mm: tuple[Place, Place] = Field(strict=False)
    to_mm: tuple[Place, Place] = Field(strict=False)
    width_mm: BarWidth
    height_mm: BarHeight = Field(gt=0)


@sentences
async def _present(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: _described(plate))


def _described(plate: OpenPlate) -> "dict[str, Json]":
    """Return the bar from which the maker begins."""
    from solver.bench.bar_work import highest, present_bar
    from solver.units import MM

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


@sentences
async def _try(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, BarQuestion)
    return await in_thread(lambda: _begin(state, plate, question))


def _begin(state: BenchState, plate: OpenPlate, question: BarQuestion) -> "dict[str, Json]":
    from solver.bench.bar_work import BarOrder, tried_bar, try_bar

    order = BarOrder(
        str(plate.folder), question.from_mm, question.to_mm, question.width_mm, question.height_mm
    )
    tried_bar(plate.known(question.mark).plate, order)  # what cannot be glued in is said at once
    return state.jobs.begin("The other bar", try_bar, order.as_text, _compared).told()


def _compared(_: str, value: object) -> "dict[str, Json]":
    """Return what the page shows of two bars: the command's rows, and the node lines of both."""
    from solver.bench.bar_work import in_toml
    from solver.bench.picture import in_mm
    from solver.commands.bar_answer import bar_as_json

    comparison = cast("BarComparison", value)
    tried = comparison.sweep.trials[-1].bar
    assert tried is not None, "only the first trial has none"
    return {
        **bar_as_json(comparison.sweep, None),
        "lines_mm": [[[in_mm(line) for line in tone] for tone in lines] for lines in comparison.lines],
        "in_toml": in_toml(tried),
    }


ROUTES = (
    Route("/api/plates/{plate}/bar", _present),
    Route("/api/plates/{plate}/bar", _try, methods=["POST"]),
)
