"""Sheet: how the plate lies on paper, and the PDF to be printed."""

from functools import partial
from typing import TYPE_CHECKING

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import asked, in_thread
from solver.bench.plate_routes import MarkedQuestion
from solver.bench.plates import OpenPlate
from solver.bench.state import BenchState, bench_of, plate_of
from solver.bench.told import JobTold, PlanWishes, SheetDrawn, SheetShown
from solver.core.errors import InputError

if TYPE_CHECKING:
    from solver.bench.sheet_work import DrawnSheet


class SheetQuestion(MarkedQuestion):
    """On which paper, and with lines of thickness how far apart; none stands for by need.

    ``passes`` asks for the first of so many passes of a plan for the wanted figures; ``trial`` for the
    wood of a trial by its name; neither draws the plate as it is.
    """

    paper: str
    contour_mm: float | None = None
    passes: int | None = None
    trial: str | None = None


async def _laid(request: Request) -> Response:
    plate, paper = plate_of(request), request.query_params.get("paper", "A4")
    return await in_thread(lambda: _tiles(plate, paper))


def _tiles(plate: OpenPlate, name: str) -> SheetShown:
    """Return where the sheets lie on the plate [mm], seen from the inside, the neck end up."""
    from solver.commands.plan_request import PASSES
    from solver.commands.sheet import pages_in_words, paper_called
    from solver.viewer.sheet.paper import PAPER_NAMES
    from solver.viewer.sheet.plan import wood_on_paper
    from solver.viewer.sheet.tiling import lay_tiles

    paper = paper_called(name)
    tiling = lay_tiles(wood_on_paper(plate.read().plate.outline), paper)
    return {
        "papers": [*PAPER_NAMES],
        "passes": [*range(PASSES[0], PASSES[1] + 1)],
        "wishes": _wishes(plate),
        "trials": _open_trials(plate),
        "said": pages_in_words(paper, len(tiling.tiles)),
        "tiles": [
            {
                "name": tile.name,
                "left": tile.window.left,
                "bottom": tile.window.bottom,
                "width": tile.window.width,
                "height": tile.window.height,
            }
            for tile in tiling.tiles
        ],
    }


def _open_trials(plate: OpenPlate) -> list[str]:
    """Return the names of the trials that take wood and were not carved yet, the oldest first."""
    from solver.plate_folder.trials import read_trials, trial_removals

    trials = read_trials(plate.folder).values()
    return [trial.name for trial in trials if trial.carved is None and trial_removals(trial)]


def _wishes(plate: OpenPlate) -> PlanWishes:
    """Return what a plan goes by: the wanted tones [Hz] and the least thickness [mm], where plate.toml has them."""
    wanted = plate.read().description.table.wanted
    return {
        "modes_hz": dict(wanted.modes_hz) if wanted else {},
        "least_mm": wanted.min_thickness_mm if wanted else None,
    }


async def _draw(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, SheetQuestion)
    return await in_thread(lambda: _begin(state, plate, question))


def _begin(state: BenchState, plate: OpenPlate, question: SheetQuestion) -> JobTold:
    from solver.bench.sheet_work import draw_sheet, sheet_order
    from solver.commands.sheet import checked_contour, paper_called

    plate.known(question.mark)
    order = sheet_order(
        plate.folder,
        paper_called(question.paper),
        checked_contour(question.contour_mm),
        question.passes,
        question.trial,
    )
    return state.jobs.begin("The sheet", draw_sheet, order, partial(_keep, plate)).told()


def _keep(plate: OpenPlate, drawn: "DrawnSheet") -> SheetDrawn:
    plate.sheet = drawn.pdf
    taken = None if drawn.taken_um is None else [*drawn.taken_um]
    return {"bytes": len(drawn.pdf), "said": [*drawn.said], "taken_um": taken}


async def _pdf(request: Request) -> Response:
    plate = plate_of(request)
    if plate.sheet is None:
        raise InputError("No sheet was drawn yet; draw it first.")
    content = await to_thread.run_sync(lambda: plate.sheet)
    name = "".join(letter if letter.isalnum() or letter in "-_" else "-" for letter in plate.folder.name)
    disposition = (
        f'attachment; filename="{name.encode("ascii", "replace").decode().replace("?", "-")}-sheet.pdf"'
    )
    return Response(content, media_type="application/pdf", headers={"content-disposition": disposition})


ROUTES = (
    Route("/api/plates/{plate}/sheet", _laid),
    Route("/api/plates/{plate}/sheet", _draw, methods=["POST"]),
    Route("/api/plates/{plate}/sheet.pdf", _pdf),
)
