"""Powder: a photo of a pattern, its lines beside the computed ones, kept with the plate when the maker says so."""

from functools import partial
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import asked, in_thread
from solver.bench.brought import called_by_name
from solver.bench.brought_routes import brought_to
from solver.bench.drawn_told import PlacesToPointAt
from solver.bench.plate_routes import MarkedQuestion, awaited
from solver.bench.plates import OpenPlate
from solver.bench.state import BenchState, bench_of, plate_of
from solver.bench.told import Answer, JobTold, Written
from solver.core.errors import InputError

if TYPE_CHECKING:
    from solver.bench.powder_work import PowderRead


class PhotoQuestion(MarkedQuestion):
    """A photo that was brought."""

    brought: str


class PowderQuestion(PhotoQuestion):
    """Read it: what was played, the side that is seen, and places pointed out as ``--landmark`` has them."""

    hz: float | None = None
    seen: Literal["", "inside", "outside"] = ""
    landmarks: list[Annotated[str, Field(max_length=80)]] = Field(default=[], max_length=40)


async def _places(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: _to_point_at(plate))


def _to_point_at(plate: OpenPlate) -> PlacesToPointAt:
    from solver.bench.powder_work import places_to_point_at
    from solver.measured.plate_form import PlateForm

    read = plate.read().plate
    return {"places": [*places_to_point_at(PlateForm(read.outline, read.arch, read.graduation))]}


async def _read(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, PowderQuestion)
    return await in_thread(lambda: _begin(state, plate, question))


def _begin(state: BenchState, plate: OpenPlate, question: PowderQuestion) -> JobTold:
    from solver.bench.powder_work import PowderOrder, photo_request, read_powder
    from solver.measured.read_apart import photo_apart

    body, path = plate.known(question.mark).body, brought_to(plate, question.brought).path
    request = photo_request(plate.folder, path, question.hz, question.seen, question.landmarks)

    def order() -> PowderOrder:
        with called_by_name(path):
            photo = photo_apart(path)
        return PowderOrder(request, photo, awaited(state, plate, body, lambda solved: solved.shapes))

    return state.jobs.begin_after(
        "Reading the photo", read_powder, order, partial(_take, plate, question.brought)
    ).told()


def _take(plate: OpenPlate, key: str, powder: "PowderRead") -> Answer:
    with plate.lock:
        plate.powder = {old: one for old, one in plate.powder.items() if old in plate.brought} | {key: powder}
    told = {name: one for name, one in powder.answer.items() if name not in ("photo", "lines_csv")}
    return {**told, **powder.drawn}


def _powder(plate: OpenPlate, key: str) -> "PowderRead":
    powder = plate.powder.get(key)
    if powder is None:
        raise InputError("That photo was not read; expected one that was. Open it again.")
    return powder


async def _flat(request: Request) -> Response:
    powder = _powder(plate_of(request), request.path_params["brought"])
    return Response(powder.flat, media_type="image/png")


async def _keep(request: Request) -> Response:
    plate, question = plate_of(request), await asked(request, PhotoQuestion)
    return await in_thread(lambda: _kept(plate, question))


def _kept(plate: OpenPlate, question: PhotoQuestion) -> Written:
    """Keep the photo in the plate's folder and its lines beside it."""
    from solver.commands.pattern import lines_file
    from solver.measured.seen_lines import write_seen_lines
    from solver.plate_folder.kept_file import kept_file

    powder = _powder(plate, question.brought)
    with plate.lock:
        plate.check_unchanged(question.mark)
        name = kept_file(plate.folder, brought_to(plate, question.brought).path, "photos", "The photo")
        lines = lines_file(plate.folder / name)
        write_seen_lines(powder.lines, lines)
    return {"written": [name, f"photos/{lines.name}"]}


ROUTES = (
    Route("/api/plates/{plate}/powder", _places),
    Route("/api/plates/{plate}/powder", _read, methods=["POST"]),
    Route("/api/plates/{plate}/powder/{brought}/flat", _flat),
    Route("/api/plates/{plate}/powder/lines", _keep, methods=["POST"]),
)
