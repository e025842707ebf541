"""``platewright pair``: a top and a back side by side, and what would bring them into a relation that is wanted."""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from rich.console import Console

from solver.commands.headline import headline
from solver.commands.json_answer import print_json
from solver.commands.pair_request import PairRequest, check_roles
from solver.commands.plan_limits import read_limits
from solver.commands.plan_request import PlanRequest
from solver.core.errors import InputError
from solver.plate_folder.description import Description, read_description
from solver.viewer.page_files import picture_kind

if TYPE_CHECKING:
    from solver.advice.climate_shift import WeatherResponse
    from solver.advice.fitted_tones import FittedBelief, FittedTones
    from solver.advice.pair_ways import PairWay, Side
    from solver.advice.plate_pair import PairMember, PlatePair, Relation
    from solver.commands.pair_answer import PairAnswer
    from solver.plate.climate import Climate

    Say = Callable[[str], None]

USUAL_ROOM = (20.0, 50.0)
"""Room [°C, %] that stands in where neither plate names one; nothing is moved then."""

LIKE_LENGTH = 0.03
"""Share by which top and back of one instrument may differ in length (common practice, no source)."""


def run_pair(request: PairRequest, out: Console, busy: Console) -> None:
    """Print both plates side by side as a table and words, or as JSON, then draw the intervals if asked for.

    Raises InputError if a folder cannot be understood, the two are no pair, or a relation speaks of a mode they lack.
    """
    if request.picture is not None:
        picture_kind(request.picture)
    top, back = read_description(request.top), read_description(request.back)
    check_roles(top, back)
    if not request.as_json:
        out.print(headline(top.table))
        out.print(headline(back.table))
    with busy.status("Solving both plates") as status:
        from solver.commands.pair_answer import pair_as_json, pair_as_table

        answer = pair_answer(top, back, request.relations, request.to, status.update)
    if request.as_json:
        print_json(pair_as_json(answer), out)
    else:
        out.print(pair_as_table(answer))
    if request.picture is not None:
        with busy.status("Drawing"):
            from solver.viewer.pair_picture import draw_pair

            draw_pair(answer.pair, request.picture)
        busy.print(f"Drawn in {request.picture}", markup=False)


def pair_answer(
    top: Description, back: Description, relations: "tuple[Relation, ...]", to: "Climate | None", say: "Say"
) -> "PairAnswer":
    """Return two plates side by side in one room and the ways into the relations that are wanted, if any.

    ``say`` hears what is being done. They are a top and a back (`check_roles`). Raises InputError as `run_pair`.
    """
    from solver.advice.plate_pair import pair_plates
    from solver.commands.pair_answer import PairAnswer
    from solver.plate.climate import Climate

    room = to or _stated(top) or _stated(back) or Climate(*USUAL_ROOM)
    say("Solving the top")
    of_top = _member(top, room)
    say("Solving the back")
    pair = pair_plates(of_top, _member(back, room), room, relations)
    _check_modes(pair, relations)
    ways, hindered = _ways(pair, top, back, say)
    return PairAnswer(pair, ways, (*_remarks(pair, top, back), *hindered))


def _stated(description: Description) -> "Climate | None":
    """Return the room in which the figures of a folder hold, if it names one."""
    from solver.plate.climate import checked_climate

    table = description.table.climate
    if table is None:
        return None
    where = f"{description.folder}/plate.toml: [climate]"
    return checked_climate(table.temperature_c, table.humidity_pct, where)


def _member(description: Description, room: "Climate") -> "PairMember":
    """Return one plate, solved, with the tones last heard; what names no room is taken to be in that of the comparison."""
    from solver.advice.climate_log import moistures
    from solver.advice.climate_shift import weather_response
    from solver.advice.plate_pair import PairMember
    from solver.commands.belief import belief_of
    from solver.commands.log_observations import observed
    from solver.plate_folder.read import read_folder

    stated = _stated(description) or room
    own = {"temperature_c": stated.temperature_c, "humidity_pct": stated.humidity_pct}
    log = {
        name: entry if _has_room(description, name) else entry.model_copy(update=own)
        for name, entry in description.log.items()
    }
    observations, _ = observed(log)
    heard = [entry for entry in moistures(observations) if entry.observation.hz]
    read = read_folder(description)
    response, belief = weather_response(read.plate), belief_of(read, read.plate)
    return PairMember(response, stated, heard[-1] if heard else None, belief, _fitted(response, belief))


def _fitted(response: "WeatherResponse", belief: "FittedBelief | None") -> "FittedTones | None":
    """Return the tones expected with their intervals, where the wood was fitted: the same tones as of the weather."""
    if belief is None:
        return None
    from solver.advice.tone_response import meshed

    on = meshed(response.plate)
    return belief.tones(on, on.model(response.plate), response.modes)


def _has_room(description: Description, name: str) -> bool:
    entry = description.log[name]
    return entry.temperature_c is not None and entry.humidity_pct is not None


def _check_modes(pair: "PlatePair", asked: "tuple[Relation, ...]") -> None:
    """Refuse a relation of a mode that not both plates show."""
    shown = [paired.mode for paired in pair.modes]
    for relation in asked:
        if relation.mode not in shown:
            raise InputError(
                f"--relation: mode {relation.mode} was not found by its shape in both plates; expected one that was: "
                f"{', '.join(shown) or 'none'}. See them with: platewright modes"
            )


def _ways(
    pair: "PlatePair", top: Description, back: Description, say: "Say"
) -> "tuple[tuple[PairWay, ...], tuple[str, ...]]":
    """Return the ways into the relation, none where it holds; and a sentence on every plate that cannot be planned for."""
    from solver.advice.pair_ways import way_by

    ways, hindered = [], []
    sides: tuple[tuple[Side, Description, PairMember], ...] = (
        ("top", top, pair.top),
        ("back", back, pair.back),
    )
    for side, description, member in sides if not all(map(pair.holds, pair.relations)) else ():
        wanted = description.table.wanted
        if wanted is None or wanted.min_thickness_mm is None:
            hindered.append(
                f"No plan for the {side}: {description.folder}/plate.toml has no min_thickness_mm under [wanted], and "
                "wood cannot be put back. Add it."
            )
            continue
        say(f"Planning for the {side}")
        limits = read_limits(PlanRequest(), wanted, member.response.plate)
        ways.append(way_by(side, pair, limits))
    return tuple(ways), tuple(hindered)


def _remarks(pair: "PlatePair", top: Description, back: Description) -> Iterator[str]:
    """Yield what the comparison rests on."""
    lengths = []
    for description, member in ((top, pair.top), (back, pair.back)):
        role = description.table.role
        if description.table.climate is None:
            yield f"The {role}'s plate.toml names no room: its figures are taken to hold in that of the comparison."
        if member.heard is not None:
            entry = member.heard.observation
            stage = f", {entry.stage}" if entry.stage else ""
            unknown = (
                "" if _has_room(description, entry.name) else "; it names no room, so the plate's is taken"
            )
            yield f"Heard of the {role}: log/{entry.name}{stage}{unknown}."
        x_low, _, x_high, _ = member.response.plate.outline.bounds
        lengths.append(x_high - x_low)
    if abs(lengths[1] / lengths[0] - 1) > LIKE_LENGTH:
        more = 100 * (lengths[1] / lengths[0] - 1)
        yield f"The back differs in length from the top by {more:+.0f} %: are they of one instrument?"
