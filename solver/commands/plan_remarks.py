"""What a plan rests on: tones that share a pattern, the tone that a wish is for, and what the log heard otherwise."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from solver.advice.carving_plan import TOLERANCE, CarvingPlan, PlannedFigure
from solver.advice.thinning import ThinningMap
from solver.advice.wished_tones import heard_elsewhere
from solver.modal.labels import SharedPattern
from solver.plate.mode_label import key_called, tone_key
from solver.plate_folder.description import Description
from solver.plate_folder.schema import ClimateTable, LogEntry, PlateTable
from solver.viewer.plan_picture import figure_words
from solver.viewer.thinning_map import place_words
from solver.viewer.tone_words import shared_words

if TYPE_CHECKING:
    from solver.plate_folder.read import PlateFolder

_OFF, _OFF_ELSEWHERE = 0.01, 0.02
"""Shares of a tone by which a heard one may differ from what is expected, in the plate's room and in another or none."""
_SAME_HUMIDITY, _SAME_WARMTH = 5.0, 5.0


@dataclass(frozen=True)
class Unlike:
    """A tone of the log [Hz] that is not as expected of the plate: ``key`` of the mode or nearest tone, and that [Hz]."""

    key: str
    numbered: bool
    heard: float
    expected: float


def heard_of(description: Description) -> dict[str, float]:
    """Return the newest tone [Hz] of each number that the log has of the plate as it stands."""
    heard: dict[str, float] = {}
    for entry in description.log.values():
        if _as_it_stands(entry, description.table):
            heard |= entry.modes_hz
    return heard


def newest_heard(description: Description) -> tuple[str, LogEntry] | None:
    """Return the newest entry with tones of the plate as it stands, and its name."""
    entries = [(name, entry) for name, entry in description.log.items() if entry.modes_hz or entry.tones_hz]
    found = [one for one in entries if _as_it_stands(one[1], description.table)]
    return found[-1] if found else None


def _as_it_stands(entry: LogEntry, table: PlateTable) -> bool:
    """Tell whether an entry is of the plate with the readings and the parts that plate.toml has now."""
    lacking = {"bar": table.bar is None, "holes": not table.outline.holes}
    return entry.thickness in (None, table.thickness.file) and all(lacking[part] for part in entry.without)


def unlike_tones(plan: CarvingPlan, entry: LogEntry, room: ClimateTable | None) -> tuple[Unlike, ...]:
    """Return the tones of an entry that the plan does not reproduce on the plate as it stands."""
    expected, names = plan.before.expected.hz, plan.before.modes.names
    allowed = _OFF if _in_room(entry, room) else _OFF_ELSEWHERE
    at = {name: float(hz) for name, hz in zip(names, expected, strict=True) if name}
    at |= {one.name: at[one.key] for one in heard_elsewhere(plan.before, at, entry.modes_hz) if one.key in at}
    found = [Unlike(n, True, hz, at[n]) for n, hz in entry.modes_hz.items() if n in at]
    for hz in entry.tones_hz:
        if hz < expected[-1] * (1 + allowed):
            place = int(np.abs(np.log(expected / hz)).argmin())
            found.append(Unlike(tone_key(names[place], place), False, hz, float(expected[place])))
    return tuple(one for one in found if abs(np.log(one.heard / one.expected)) > allowed)


def _in_room(entry: LogEntry, room: ClimateTable | None) -> bool:
    if room is None or entry.humidity_pct is None or entry.temperature_c is None:
        return False
    return (
        abs(entry.humidity_pct - room.humidity_pct) < _SAME_HUMIDITY
        and abs(entry.temperature_c - room.temperature_c) < _SAME_WARMTH
    )


def remarks(plan: CarvingPlan, read: "PlateFolder") -> Iterator[str]:
    """Say which tone a wish is for where two share its pattern, what parts them, and what the log heard otherwise."""
    description = read.description
    yield from _mixed(plan)
    for one in heard_elsewhere(plan.before, ("1", "2", "5"), heard_of(description)):
        yield (
            f"The log's mode {one.name} ({one.heard:.1f} Hz) is the {key_called(one.key)} here, which shares its shape: "
            f"a wish for mode {one.name} is taken for that tone."
        )
    if (newest := newest_heard(description)) is not None:
        unlike = unlike_tones(plan, newest[1], description.table.climate)
        yield from _not_reproduced(newest[0], unlike, read.posterior is not None)


def _not_reproduced(name: str, unlike: tuple[Unlike, ...], is_fitted: bool) -> Iterator[str]:
    if not unlike:
        return
    said = ", ".join(
        f"{key_called(one.key) if one.numbered else 'a tone'} heard at {one.heard:.1f} Hz, expected {one.expected:.1f}"
        for one in unlike
    )
    cure = (
        "fit again with that entry: platewright fit" if is_fitted else "fit the wood first: platewright fit"
    )
    yield (
        f"The newest entry with tones ({name}) differs from what the plan rests on: {said}. "
        f"Unless wood was taken since, {cure}."
    )


def _mixed(plan: CarvingPlan) -> Iterator[str]:
    trial = plan.before
    patterns = [p for p in trial.modes.mixed if any(_key(plan, place) in plan.wanted for place in p.places)]
    if not patterns:
        return
    thinning = ThinningMap(trial, trial.sensitivity(), ())
    words = place_words(trial.plate)
    for pattern in patterns:
        low, high = min(pattern.places), max(pattern.places)
        apart = thinning.parting(_key(plan, low), _key(plan, high))
        where = f" Wood from the {words.at(apart[0].point)} drives them apart most." if apart else ""
        yield f"{shared_words(pattern)}: {_both(plan, pattern)}.{where}"


def _key(plan: CarvingPlan, place: int) -> str:
    return tone_key(plan.before.modes.names[place], place)


def _both(plan: CarvingPlan, pattern: SharedPattern) -> str:
    """Say what the plan does to every tone of a shared pattern."""
    keys = [_key(plan, place) for place in sorted(pattern.places)]
    return ", ".join(
        f"{key_called(key)} {plan.before.figure(key):.1f} to {plan.after.figure(key):.1f} Hz" for key in keys
    )


def is_borne_out(plan: CarvingPlan) -> bool:
    """Tell whether what is known of the wood makes every wished figure as sure as the tolerance."""
    return all(is_sure(figure) for figure in plan.figures if figure.wanted is not None)


def how_sure(plan: CarvingPlan) -> str:
    """Say how sure it is that the wishes hold, where that is less sure than the tolerance."""
    if not plan.bands:
        return (
            "These are the model's own tones: the wood was not fitted to this plate, so the true ones may be several per "
            "cent off (platewright fit)."
        )
    ends = [
        f"{name} lies between {figure.low / per:.1f} and {figure.high / per:.1f} {unit}"
        for figure in plan.figures
        if figure.wanted is not None and figure.low is not None and figure.high is not None
        if not is_sure(figure)
        for name, unit, per in [figure_words(figure.name)]
    ]
    return f"How sure: {', '.join(ends)} (95 %); measure before the last wood goes."


def is_sure(figure: PlannedFigure) -> bool:
    """Tell whether the 95 % interval of a planned figure is within the tolerance of a wish."""
    if figure.low is None or figure.high is None:
        return False
    return 0.5 * (figure.high - figure.low) <= TOLERANCE * figure.planned
