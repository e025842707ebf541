"""The pair: which plates may stand beside the one on the bench, and both held side by side."""

from typing import Annotated

from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import asked, in_thread
from solver.bench.pair_question import WORDS_OFFERED, TypedRelation, typed_relations
from solver.bench.plate_routes import MarkedQuestion
from solver.bench.plates import OpenPlate
from solver.bench.state import BenchState, bench_of, plate_of
from solver.bench.told import JobTold, Partners
from solver.bench.typed_text import Short, typed_room
from solver.bench.work import whole_result
from solver.core.errors import InputError
from solver.plate_folder.description import read_description

OTHER_ROLE = {"top": "back", "back": "top"}


class PairQuestion(MarkedQuestion):
    """Which plate stands beside it, what relations are wanted, if any, and in which room, empty for the top's."""

    other: str
    relations: list[TypedRelation] = Field(max_length=20)
    room: Annotated[tuple[Short, Short], Field(strict=False)]


async def _partners(request: Request) -> Response:
    state, plate = bench_of(request), plate_of(request)
    return await in_thread(lambda: _offered(state, plate))


def _offered(state: BenchState, plate: OpenPlate) -> Partners:
    """Return the plates of the other role that the bench knows, those that are open first."""
    role = read_description(plate.folder).table.role
    if role not in OTHER_ROLE:
        raise InputError(
            f"This is a {role}; expected a top or a back, for a pair is one of each. Open one of them."
        )
    opened = [other.folder for other in state.plates.all() if other is not plate]
    told = state.offers.told([*opened, *state.known().all])
    others = [one for one in told if one["role"] == OTHER_ROLE[role]]
    return {"role": role, "others": others, "intervals": [*WORDS_OFFERED]}


async def _compare(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, PairQuestion)
    return await in_thread(lambda: _begin(state, plate, question))


def _begin(state: BenchState, plate: OpenPlate, question: PairQuestion) -> JobTold:
    from solver.bench.pair_work import hold_side_by_side, pair_order

    other = state.offers.offered(question.other)
    is_top = plate.known(question.mark).description.table.role == "top"
    top, back = (plate.folder, other) if is_top else (other, plate.folder)
    room = typed_room(question.room, "The room") if any(question.room) else None
    order = pair_order(top, back, typed_relations(question.relations), room)
    return state.jobs.begin("Side by side", hold_side_by_side, order, whole_result).told()


ROUTES = (
    Route("/api/plates/{plate}/pair", _partners),
    Route("/api/plates/{plate}/pair", _compare, methods=["POST"]),
)
