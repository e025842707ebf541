"""A log as a history: each entry with what changed since the last, and its tones as they would be in one room."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import log2
from typing import TYPE_CHECKING

from solver.core.errors import InputError
from solver.plate_folder.description import Description
from solver.plate_folder.schema import ClimateTable, LogEntry, PlateTable, WantedTable

if TYPE_CHECKING:
    from solver.advice.climate_log import Observation
    from solver.plate.climate import Climate

Band = tuple[float, float]
Bands = tuple[Mapping[str, Band], Sequence[Band | None]]
"""Of the modes by their numbers, and of the tones in their order."""


@dataclass(frozen=True)
class Reading:
    """A tone [Hz] of an entry: the change since it was last read, and low to high in the reference room."""

    hz: float
    change_hz: float | None
    at_reference: Band | None
    wanted_hz: float | None

    @property
    def cents(self) -> Band | None:
        """By how much it lies above what is wanted, in the reference room if it is known there."""
        if self.wanted_hz is None:
            return None
        low, high = self.at_reference or (self.hz, self.hz)
        return 1200 * log2(low / self.wanted_hz), 1200 * log2(high / self.wanted_hz)


@dataclass(frozen=True)
class Happening:
    """One entry: its mass and tones against those before it."""

    name: str
    entry: LogEntry
    mass_change_g: float | None
    modes: Mapping[str, Reading]
    tones: tuple[Reading, ...]


@dataclass(frozen=True)
class History:
    """The log of a plate, oldest first; ``reference`` is the room to which the tones are brought, if they are."""

    table: PlateTable
    happenings: tuple[Happening, ...]
    reference: "Climate | None"
    remarks: tuple[str, ...]

    @property
    def mode_names(self) -> tuple[str, ...]:
        """The numbers of all modes in it, lowest first."""
        return tuple(sorted({name for h in self.happenings for name in h.modes}, key=int))


def brought_history(description: Description) -> History:
    """Return the history of a plate, its tones brought to the room in plate.toml as far as that is known."""
    from solver.commands.log_observations import observed

    observations, left_out = observed(description.log)
    stated = description.table.climate
    if not any(seen.hz or seen.tones for seen in observations):
        return _history_of(description, {}, None, ())
    if stated is None:
        remark = "plate.toml has no [climate]: the tones are not brought to one room."
        return _history_of(description, {}, None, (remark,))
    try:
        bands, room = _bands(description, observations, stated)
    except InputError as error:
        return _history_of(description, {}, None, (f"The tones are not brought to one room. {error}",))
    return _history_of(description, bands, room, left_out)


def _bands(
    description: Description, observations: "Sequence[Observation]", stated: ClimateTable
) -> "tuple[dict[str, Bands], Climate]":
    """Return by entry its tones in the stated room, and that room."""
    from solver.advice.climate_log import brought_to, moistures, tones_brought_to
    from solver.advice.climate_shift import weather_response
    from solver.plate.climate import checked_climate, settled_in
    from solver.plate_folder.read import read_folder

    room = checked_climate(stated.temperature_c, stated.humidity_pct, "plate.toml: [climate]")
    there = settled_in(room)
    entries = moistures(observations)
    if all(entry.conditions == (there, there) for entry in entries):  # then the plate need not be solved
        return {entry.observation.name: _as_read(entry.observation) for entry in entries}, room
    response = weather_response(read_folder(description).plate)
    return {
        entry.observation.name: (
            brought_to(response, entry, there),
            tones_brought_to(response, entry, there),
        )
        for entry in entries
    }, room


def _as_read(seen: "Observation") -> Bands:
    """Return the tones of an entry as bands without width."""
    return {mode: (hz, hz) for mode, hz in seen.hz.items()}, [(hz, hz) for hz in seen.tones]


def _history_of(
    description: Description, bands: "Mapping[str, Bands]", room: "Climate | None", remarks: tuple[str, ...]
) -> History:
    last: dict[str, float] = {}
    mass: float | None = None
    happenings = []
    for name, entry in description.log.items():
        change = entry.mass_g - mass if entry.mass_g is not None and mass is not None else None
        readings = _readings(entry, last, bands.get(name), description.table.wanted)
        happenings.append(Happening(name, entry, change, *readings))
        last |= entry.modes_hz
        mass = entry.mass_g if entry.mass_g is not None else mass
    return History(description.table, tuple(happenings), room, remarks)


def _readings(
    entry: LogEntry, last: Mapping[str, float], bands: "Bands | None", wanted: WantedTable | None
) -> tuple[dict[str, Reading], tuple[Reading, ...]]:
    """Return the modes and the tones of an entry against what was last read."""
    modes, tones = bands or ({}, (None,) * len(entry.tones_hz))
    aims = wanted.modes_hz if wanted else {}
    named = {
        mode: Reading(hz, hz - last[mode] if mode in last else None, modes.get(mode), aims.get(mode))
        for mode, hz in sorted(entry.modes_hz.items(), key=lambda item: int(item[0]))
    }
    return named, tuple(Reading(hz, None, band, None) for hz, band in zip(entry.tones_hz, tones, strict=True))
