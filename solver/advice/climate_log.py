"""The log in one weather: how damp the wood was at every entry, and which part of a change is the weather's."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np

from solver.core.arrays import Floats
from solver.plate.climate import Climate, Condition, equilibrium_moisture

if TYPE_CHECKING:
    from solver.advice.climate_shift import WeatherResponse

SETTLING = timedelta(days=3)
"""A thin plate follows the room in hours to days (common practice, no source): sooner after a change it is in between, and
the nearer to the room's air the longer ago the entry before was made."""

SAME_ROOM_PCT = 0.5
"""Moisture [%] by which two rooms may differ and still count as one: 3 % humidity, which no hygrometer tells for sure."""

CARVED_PCT = 2.0
"""Moisture [%] by which the scales may go beyond what the rooms allow; farther off, it is wood that came off or on."""

READING_HZ = 1.0
"""What a tone read by ear or from a recording may be off by (common practice, no source)."""

KnownBy = Literal["room", "scales", "between"]


@dataclass(frozen=True)
class Observation:
    """What was noted on one day: the room, the mass [kg] if it was weighed, tones [Hz] by mode number and without one."""

    name: str
    taken: datetime
    stage: str
    climate: Climate
    mass: float | None
    hz: Mapping[str, float]
    tones: tuple[float, ...] = ()


@dataclass(frozen=True)
class Weathered:
    """An observation, and the moisture [%] that its wood had, between ``low`` and ``high``.

    ``known_by`` is the room's air, the scales, or the two rooms between which the plate was still on its way; ``carved``
    tells that the scales were set aside, because no weather makes such a difference.
    """

    observation: Observation
    low: float
    high: float
    known_by: KnownBy
    carved: bool = False

    @property
    def conditions(self) -> tuple[Condition, Condition]:
        """The driest and the dampest that the wood may have been."""
        warm = self.observation.climate.temperature_c
        return Condition(self.low, warm), Condition(self.high, warm)


@dataclass(frozen=True)
class WeatherPart:
    """One tone [Hz] in two observations, and what the weather alone would have made of the first, low to high [Hz]."""

    mode: str
    before: float
    after: float
    low: float
    high: float

    @property
    def goes_beyond(self) -> bool:
        """Tell whether the change goes beyond what the weather and the reading of the tone explain."""
        return not self.low - READING_HZ <= self.after <= self.high + READING_HZ

    @property
    def shares(self) -> tuple[float, float]:
        """The weather's share of the change, least and most; below nought where it worked against it."""
        least, most = sorted(
            (bound - self.before) / (self.after - self.before) for bound in (self.low, self.high)
        )
        return least, most


def moistures(observations: Sequence[Observation], same_wood: bool = False) -> tuple[Weathered, ...]:
    """Return the observations, oldest first, with the moisture of their wood.

    It is that of the room's air, or, within three days of another room, between that and so much of the way back to the
    other as is left of the three days. Where nothing was carved between two weighings - the stage is the same, or
    ``same_wood`` says so of the last two - the difference follows from the mass:
    ``M = mass/dry - 1``, with the dry mass that suits the rooms of all of them best.
    """
    by_room = tuple(_by_room(observations))
    known = list(by_room)
    for run in _same_wood_runs(observations, same_wood):
        for last, group in _weighed_groups(by_room, run):
            dry = _dry_mass([by_room[i] for i in group])
            for i in group if len(group) > 1 else ():
                known[i] = _by_scales(by_room[i], dry)
            if last is not None:
                known[last] = replace(known[last], carved=True)
    return tuple(known)


def shift_between(
    response: "WeatherResponse",
    mode: str,
    starts: Sequence[Condition],
    ends: Sequence[Condition],
) -> Floats:
    """Return the least and the greatest change (2,) of ``ln f`` of a mode from any of the starts to any of the ends."""
    bands = [response.shift_of(mode, start, end) for start in starts for end in ends]
    return np.array([min(band[0] for band in bands), max(band[1] for band in bands)])


def brought_to(
    response: "WeatherResponse", entry: Weathered, there: Condition
) -> dict[str, tuple[float, float]]:
    """Return for every mode of an entry what it would have been [Hz], low to high, in another condition of the wood."""
    return {
        mode: _moved(hz, shift_between(response, mode, entry.conditions, [there]))
        for mode, hz in entry.observation.hz.items()
    }


def tones_brought_to(
    response: "WeatherResponse", entry: Weathered, there: Condition
) -> tuple[tuple[float, float], ...]:
    """Return the same for the tones of no known mode, in a band that holds every mode."""
    shift = shift_between(response, "", entry.conditions, [there])
    return tuple(_moved(hz, shift) for hz in entry.observation.tones)


def weather_parts(
    response: "WeatherResponse", before: Weathered, after: Weathered
) -> tuple[WeatherPart, ...]:
    """Return what the weather did to each mode that both entries have."""
    first, then = before.observation.hz, after.observation.hz
    return tuple(
        WeatherPart(
            mode,
            hz,
            then[mode],
            *_moved(hz, shift_between(response, mode, before.conditions, after.conditions)),
        )
        for mode, hz in first.items()
        if mode in then
    )


def _moved(hz: float, shift: Floats) -> tuple[float, float]:
    low, high = hz * np.exp(shift)
    return float(low), float(high)


def _by_room(observations: Sequence[Observation]) -> Iterator[Weathered]:
    """Yield the observations with the moisture of their room, or on the way to it from the room before."""
    before: Weathered | None = None
    for observation in observations:
        own = equilibrium_moisture(observation.climate)
        entry = Weathered(observation, own, own, "room")
        if before is not None:
            left = max(0.0, 1 - (observation.taken - before.observation.taken) / SETTLING)
            low, high = own + left * min(before.low - own, 0.0), own + left * max(before.high - own, 0.0)
            if high - low > SAME_ROOM_PCT:
                entry = Weathered(observation, low, high, "between")
        yield entry
        before = entry


def _same_wood_runs(observations: Sequence[Observation], same_wood: bool) -> Iterator[list[int]]:
    """Yield the runs of observations between which nothing was carved, as far as is known."""
    run: list[int] = []
    stages = [" ".join(o.stage.lower().split()) for o in observations]
    for i, stage in enumerate(stages):
        told = same_wood and i == len(stages) - 1
        if run and not told and (not stage or stage != stages[i - 1]):
            yield run
            run = []
        run.append(i)
    if run:
        yield run


def _weighed_groups(
    entries: Sequence[Weathered], run: Sequence[int]
) -> Iterator[tuple[int | None, list[int]]]:
    """Yield groups of weighed entries of one wood; a group that begins where wood came off is named by its first entry."""
    weighed = [i for i in run if entries[i].observation.mass is not None]
    group, carved = weighed[:1], None
    for one, other in pairwise(weighed):
        if not _by_weather(entries[one], entries[other]):
            yield carved, group
            group, carved = [], other
        group.append(other)
    if group:
        yield carved, group


def _by_weather(one: Weathered, other: Weathered) -> bool:
    """Tell whether the weather may have made the difference of two masses."""
    room, there = (equilibrium_moisture(e.observation.climate) for e in (one, other))
    taken_up = (100 + room) * (_mass(other) / _mass(one) - 1)
    return min(0.0, there - room) - CARVED_PCT <= taken_up <= max(0.0, there - room) + CARVED_PCT


def _dry_mass(group: Sequence[Weathered]) -> float:
    """Return the dry mass [kg] that suits the rooms best, those first in which the plate had settled."""
    settled = [entry for entry in group if entry.known_by == "room"] or group
    return float(np.mean([100 * _mass(e) / (100 + (e.low + e.high) / 2) for e in settled]))


def _by_scales(entry: Weathered, dry: float) -> Weathered:
    moisture = 100 * (_mass(entry) / dry - 1)
    return replace(entry, low=moisture, high=moisture, known_by="scales")


def _mass(entry: Weathered) -> float:
    """Return the mass [kg] of an entry that was weighed."""
    assert entry.observation.mass is not None, "asked for only where the plate was weighed"
    return entry.observation.mass
