"""The answer of ``platewright pair``, as a table to read and as an object for other programs."""

from collections.abc import Iterator
from dataclasses import dataclass

from rich.console import Group
from rich.table import Table
from rich.text import Text

from solver.advice.fitted_tones import MASS
from solver.advice.pair_ways import PairWay
from solver.advice.plate_pair import PairedMode, PairMember, PairTone, PlatePair, Relation
from solver.commands.climate_answer import band_in_words, room_in_words
from solver.commands.plan_answer import CAUTION, verdict
from solver.commands.tones import Json
from solver.core.units import GRAM, MM
from solver.modal.pitch import INTERVALS, interval_in_words
from solver.plate.climate import Climate, mass_factor, settled_in

NOT_JUDGED = "The intervals are shown and not judged; say which you want with --relation, as in 5=+80..+180."


@dataclass(frozen=True, eq=False)
class PairAnswer:
    """Both plates, the ways into the relations that do not hold, and what all this rests on."""

    pair: PlatePair
    ways: tuple[PairWay, ...]
    remarks: tuple[str, ...]

    @property
    def less_wood(self) -> PairWay | None:
        """The way that takes less wood among those that get there."""
        return min((way for way in self.ways if way.reached), key=lambda way: way.removed, default=None)


def pair_as_json(answer: PairAnswer) -> dict[str, Json]:
    """Return the object that ``--json`` prints: frequencies in Hz, intervals in cents of the back above the top."""
    pair = answer.pair
    return {
        "room": {"temperature_c": pair.room.temperature_c, "humidity_pct": pair.room.humidity_pct},
        "top": _member(pair.top, pair.room),
        "back": _member(pair.back, pair.room),
        "modes": [
            {
                "mode": paired.mode,
                **_tone(paired.taken),
                "heard": paired.heard is not None,
                "computed": _tone(paired.computed),
            }
            for paired in pair.modes
        ],
        "relations": [
            {
                "mode": relation.mode,
                "low_cents": relation.low,
                "high_cents": relation.high,
                "holds": pair.holds(relation),
                "sure": pair.is_sure(relation),
                "in_words": said_of_relation(answer, relation),
            }
            for relation in pair.relations
        ],
        "ways": [_way(way) for way in answer.ways],
        "less_wood": None if answer.less_wood is None else answer.less_wood.side,
        "remarks": [*answer.remarks],
    }


def _member(member: PairMember, room: Climate) -> dict[str, Json]:
    weighed = _weighed(member, room)
    return {
        "title": member.response.plate.title,
        "mass_g": round(_mass(member, room) / GRAM, 2),
        "weighed_g": None if weighed is None else round(weighed / GRAM, 2),
        "stated_room": {
            "temperature_c": member.stated.temperature_c,
            "humidity_pct": member.stated.humidity_pct,
        },
    }


def _mass(member: PairMember, room: Climate) -> float:
    """Return the mass [kg] that the model has in a room."""
    return member.mass * mass_factor(settled_in(member.stated), settled_in(room))


def _weighed(member: PairMember, room: Climate) -> float | None:
    """Return the mass [kg] that was weighed when the tones were heard, as it would be in a room."""
    if member.heard is None or member.heard.observation.mass is None:
        return None
    driest, dampest = member.heard.conditions
    there = settled_in(room)
    return member.heard.observation.mass * 0.5 * (mass_factor(driest, there) + mass_factor(dampest, there))


def _tone(tone: PairTone) -> dict[str, Json]:
    return {
        "top_hz": round(tone.top.middle, 3),
        "top_low_hz": round(tone.top.low, 3),
        "top_high_hz": round(tone.top.high, 3),
        "back_hz": round(tone.back.middle, 3),
        "back_low_hz": round(tone.back.low, 3),
        "back_high_hz": round(tone.back.high, 3),
        "cents": round(tone.cents, 1),
        "low_cents": round(tone.low, 1),
        "high_cents": round(tone.high, 1),
        "in_words": interval_in_words(tone.cents),
    }


def _way(way: PairWay) -> dict[str, Json]:
    tones = [figure for figure in way.plan.figures if figure.name in way.intervals]
    return {
        "thin": way.side,
        "reached": way.reached,
        "removed_g": round(way.removed / GRAM, 3),
        "max_removal_mm": round(float(way.plan.removed.max()) / MM, 3),
        "min_thickness_mm": round(float(way.plan.left.min()) / MM, 3),
        "modes": [
            {
                "mode": figure.name,
                "now_hz": round(figure.now, 3),
                "wanted_hz": None if figure.wanted is None else round(figure.wanted, 3),
                "planned_hz": round(figure.planned, 3),
                "cents": round(way.intervals[figure.name], 1),
            }
            for figure in tones
        ],
        "in_words": said_of_way(way),
    }


def pair_as_table(answer: PairAnswer) -> Group:
    """Return the table of like modes, and under it which relation holds and what would bring the pair into it."""
    pair = answer.pair
    table = Table(
        title=f"Side by side in one room, {room_in_words(pair.room)}; the back against the top",
        title_justify="left",
    )
    for head in ("Mode", "", "Top Hz", "Back Hz", "Cents", "In words"):
        figures = head in ("Top Hz", "Back Hz", "Cents")
        table.add_column(head, justify="right" if figures else "left", no_wrap=figures)
    for paired in pair.modes:
        for cells in _rows(paired):
            table.add_row(*(Text(cell) for cell in cells))
    for cells in _mass_rows(pair):
        table.add_row(*cells)
    return Group(table, *(Text(line) for line in said_of_pair(answer)))


def said_of_pair(answer: PairAnswer) -> Iterator[str]:
    """Yield what is said under the table: relations, ways into them, and what all this rests on."""
    if not answer.pair.relations:
        yield NOT_JUDGED
    yield from (said_of_relation(answer, relation) for relation in answer.pair.relations)
    yield from (said_of_way(way) for way in answer.ways)
    yield from _said_of_choice(answer)
    yield from answer.remarks
    if answer.ways:
        yield CAUTION


def _rows(paired: PairedMode) -> Iterator[tuple[str, ...]]:
    """Yield the cells of what was heard of a mode, and of what was computed."""
    name = paired.mode
    for tone, by in ((paired.heard, "heard"), (paired.computed, "computed")):
        if tone is not None:
            cents = band_in_words(tone.low, tone.high, 0, "+")
            yield (
                name,
                by,
                f"{tone.top.middle:.1f}",
                f"{tone.back.middle:.1f}",
                cents,
                interval_in_words(tone.cents),
            )
            name = ""


def _mass_rows(pair: PlatePair) -> Iterator[tuple[str, ...]]:
    members = pair.top, pair.back
    weighed = [_weighed(member, pair.room) for member in members]
    name = "mass g"
    if any(weighed):
        yield name, "weighed", *("" if mass is None else f"{mass / GRAM:.1f}" for mass in weighed), "", ""
        name = ""
    yield name, "computed", *(f"{_mass(member, pair.room) / GRAM:.1f}" for member in members), "", ""


def said_of_relation(answer: PairAnswer, relation: Relation) -> str:
    """Say which relation is wanted, whether it holds, and whether that is sure."""
    pair, tone = answer.pair, answer.pair.tone(relation)
    heard = any(paired.heard and paired.mode == relation.mode for paired in pair.modes)
    known = "as they were heard" if heard else "by the computed tones"
    doubt = "" if pair.is_sure(relation) else ", though the band leaves room for doubt"
    return (
        f"Mode {relation.mode}, wanted {_range_in_words(relation)}: the back's lies "
        f"{interval_in_words(tone.cents).replace('the same', 'at the same pitch')} {known}; "
        f"that {'holds' if pair.holds(relation) else 'does not hold'}{doubt}."
    )


def _range_in_words(relation: Relation) -> str:
    if relation.low == relation.high:
        return interval_in_words(relation.low)
    if relation.low > 0 and all(cents % 100 == 0 for cents in (relation.low, relation.high)):
        names = [INTERVALS[round(cents / 100)] for cents in (relation.low, relation.high)]
        return f"{names[0]} to {names[1]} above"
    return f"{relation.low:+g} to {relation.high:+g} cents"


def said_of_way(way: PairWay) -> str:
    """Say what thinning one plate alone would do."""
    plan = way.plan
    does = "; ".join(
        f"mode {figure.name} from {figure.now:.1f} to {figure.planned:.1f} Hz, then "
        f"{interval_in_words(way.intervals[figure.name])}"
        for figure in plan.figures
        if figure.name != MASS and figure.wanted is not None
    )
    taken = f"{way.removed / GRAM:.1f} g, at most {plan.removed.max() / MM:.2f} mm deep ({does})"
    if way.reached:
        return f"Thin the {way.side}: {taken}. Every relation holds then."
    reason = verdict(plan, way.hindrance) if way.hindrance is not None else ""
    still = " and ".join(f"mode {relation.mode}" for relation in way.broken)
    if rising := _would_have_to_rise(way):
        up = f"{' and '.join(rising)} would have to rise there"
        return f"Thinning the {way.side} does not bring it: {up}. {reason}".rstrip()
    return f"Thinning the {way.side} alone does not bring it: {taken}, but {still} stays outside. {reason}".rstrip()


def _would_have_to_rise(way: PairWay) -> list[str]:
    """Return the modes outside their relation that would have to rise, which taking wood seldom does."""
    lacking = {relation.mode for relation in way.broken}
    return [
        f"mode {figure.name}"
        for figure in way.plan.figures
        if figure.name in lacking and figure.wanted is not None and figure.wanted > figure.now
    ]


def _said_of_choice(answer: PairAnswer) -> Iterator[str]:
    """Say which plate needs less wood, and that nothing is sure of it but the direction."""
    ways = [way for way in answer.ways if way.reached]
    if len(ways) == 2 and answer.less_wood is not None:
        less = answer.less_wood
        other = next(way for way in ways if way is not less)
        yield (
            f"The {less.side} needs less wood: {less.removed / GRAM:.1f} g against {other.removed / GRAM:.1f} g. "
            f"Plan it with the tones above as wishes."
        )
    elif answer.ways and not ways:
        yield "No removal from one plate alone brings the pair there within its limits; wood cannot be put back."
