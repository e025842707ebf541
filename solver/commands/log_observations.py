"""The entries of a log as they are compared with each other: each in its room."""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from solver.core.errors import InputError
from solver.core.units import GRAM
from solver.plate_folder.schema import LogEntry

if TYPE_CHECKING:
    from solver.advice.climate_log import Observation


def observed(log: Mapping[str, LogEntry]) -> "tuple[tuple[Observation, ...], tuple[str, ...]]":
    """Return the entries that name a room for which the rules hold, and a sentence on every other one."""
    kept, left_out = [], []
    for name, entry in log.items():
        try:
            kept.append(_observation(name, entry))
        except InputError as outside:
            left_out.append(str(outside))
    return tuple(kept), tuple(left_out)


def _observation(name: str, entry: LogEntry) -> "Observation":
    """Return an entry as it is compared; raises InputError if it names no room, or one outside the rules."""
    from solver.advice.climate_log import Observation
    from solver.plate.climate import checked_climate

    missing = list(_missing(entry))
    if entry.temperature_c is None or entry.humidity_pct is None:
        raise InputError(f"log/{name} is left out: it has no {' and no '.join(missing)}.")
    return Observation(
        name,
        entry.taken if entry.taken.tzinfo else entry.taken.astimezone(),
        entry.stage or "",
        checked_climate(entry.temperature_c, entry.humidity_pct, f"log/{name} is left out: its room"),
        None if entry.mass_g is None else entry.mass_g * GRAM,
        entry.modes_hz,
        entry.tones_hz,
    )


def _missing(entry: LogEntry) -> Iterator[str]:
    if entry.temperature_c is None:
        yield "temperature_c"
    if entry.humidity_pct is None:
        yield "humidity_pct"
