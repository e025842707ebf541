"""Listen: the tones of a recording, which mode each of them is, and their entry in the log."""

from functools import partial
from typing import TYPE_CHECKING

from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import asked, in_thread
from solver.bench.brought import called_by_name
from solver.bench.brought_routes import brought_to
from solver.bench.plate_routes import MarkedQuestion, awaited
from solver.bench.plates import OpenPlate
from solver.bench.state import BenchState, bench_of, plate_of
from solver.bench.told import Answer, JobTold, WrittenOne
from solver.core.errors import InputError
from solver.plate_folder.quantities import Humidity, Mass, Temperature
from solver.viewer.dark_page import in_the_dark

if TYPE_CHECKING:
    from solver.bench.listen_work import Heard

OUT = "out"
"""What is said of a tone that is not the plate's."""


class ListenQuestion(MarkedQuestion):
    """Listen to a recording that was brought."""

    brought: str


class EntryQuestion(ListenQuestion):
    """Enter its tones: for each the number of its mode, none, or that it is left out; with mass and room if known."""

    modes: tuple[str | None, ...] = Field(strict=False)
    mass_g: Mass | None = None
    temperature_c: Temperature | None = None
    humidity_pct: Humidity | None = None


async def _listen(request: Request) -> Response:
    state, plate, question = bench_of(request), plate_of(request), await asked(request, ListenQuestion)
    return await in_thread(lambda: _begin(state, plate, question))


def _begin(state: BenchState, plate: OpenPlate, question: ListenQuestion) -> JobTold:
    from solver.bench.listen_work import ListenOrder, listen
    from solver.measured.read_apart import recordings_apart

    body, path = plate.known(question.mark).body, brought_to(plate, question.brought).path

    def order() -> ListenOrder:
        with called_by_name(path), recordings_apart([path]) as finished:
            (recording,) = finished()
        return ListenOrder(recording, awaited(state, plate, body, lambda solved: solved.tapped))

    return state.jobs.begin_after("Listening", listen, order, partial(_take, plate, question.brought)).told()


def _take(plate: OpenPlate, key: str, heard: "Heard") -> Answer:
    with plate.lock:
        plate.heard = {old: one for old, one in plate.heard.items() if old in plate.brought} | {key: heard}
    return {
        **heard.answer,
        "called": [*heard.called],
        "modes": [{"mode": name, "hz": round(hz, 3)} for name, hz in heard.modes],
        "silent_words": [*heard.silent_words],
        "picture": heard.picture,
        "picture_dark": in_the_dark(heard.picture),
    }


def _heard(plate: OpenPlate, key: str) -> "Heard":
    heard = plate.heard.get(key)
    if heard is None:
        raise InputError("That recording was not listened to; expected one that was. Open it again.")
    return heard


async def _enter(request: Request) -> Response:
    plate, question = plate_of(request), await asked(request, EntryQuestion)
    return await in_thread(lambda: _entered(plate, question))


def _entered(plate: OpenPlate, question: EntryQuestion) -> WrittenOne:
    from solver.commands.tap import enter_tones

    hz = _heard(plate, question.brought).hz
    named = checked_tones(question.modes, hz, {name for name, _ in _heard(plate, question.brought).modes})
    beside = {key: getattr(question, key) for key in ("mass_g", "temperature_c", "humidity_pct")}
    with plate.lock:
        plate.check_unchanged(question.mark)
        path = brought_to(plate, question.brought).path
        stamp = enter_tones(plate.folder, [path], named, beside)
    return {"written": f"log/{stamp}.toml"}


def checked_tones(
    chosen: tuple[str | None, ...], hz: tuple[float, ...], known: set[str]
) -> list[tuple[str | None, float]]:
    """Return the tones to be entered with the numbers of their modes.

    Raises
    ------
    InputError
        If a number is none of the plate's, stands at two tones, or no tone is left.
    """
    if len(chosen) != len(hz):
        raise InputError(
            f"modes: {len(chosen)} are given for {len(hz)} tones; expected one each. Listen again."
        )
    named = [(name, f) for name, f in zip(chosen, hz, strict=True) if name != OUT]
    if not named:
        raise InputError("Every tone is left out; expected one or more to enter. Take one in again.")
    numbers = [name for name, _ in named if name is not None]
    for name in numbers:
        if name not in known:
            raise InputError(
                f"Mode {name} is none of this plate's; expected {', '.join(sorted(known))}. Choose again."
            )
        if numbers.count(name) > 1:
            both = " and ".join(f"{f:.1f}" for one, f in named if one == name)
            raise InputError(
                f"Mode {name} stands at {both} Hz; expected one tone for each mode. Move one of them."
            )
    return named


ROUTES = (
    Route("/api/plates/{plate}/listen", _listen, methods=["POST"]),
    Route("/api/plates/{plate}/listen/log", _enter, methods=["POST"]),
)
