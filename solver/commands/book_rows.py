"""The plates of the book as rows: each with its words, and its figures brought to one room."""

import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from math import exp
from multiprocessing import current_process, get_context
from pathlib import Path

from solver.advice.climate_bounds import ToneBounds, tone_bounds
from solver.advice.climate_log import Weathered, moistures
from solver.commands.log_observations import observed
from solver.core.errors import InputError
from solver.plate.climate import Climate, Condition, mass_factor, settled_in
from solver.plate_folder.book import Page, plate_folders, read_page
from solver.plate_folder.schema import FittedTable, LogEntry, WoodTable
from solver.plate_folder.wood_table import make_wood

UNITS = {"mass": "g", "thickness": "mm", "thinnest": "mm", "density": "kg/m3"}
CONSTANTS = ("EL", "ER", "ET", "GLR", "GLT", "GRT")

LEAST_SHARE = 100
"""Plates from which another process is worth its beginning."""

SIZES = {"violin": 375.0, "viola": 500.0, "cello": float("inf")}
"""Up to which length of the body [mm] a plate is a violin's, a viola's, a cello's (common practice, no source)."""

QUARTER, SLAB = 15.0, 75.0
"""Up to this angle of the rings [deg] a board is quarter-sawn, from that on slab-cut (common practice, no source)."""

_FITTED = {"density": "density_kg_m3"} | {name: f"{name}_GPa" for name in CONSTANTS}


@dataclass(frozen=True)
class Figure:
    """A figure of a plate; ``low`` to ``high`` where the weather was not the same, or is not known to be."""

    value: float
    low: float
    high: float
    brought: bool = True


@dataclass(frozen=True)
class Row:
    """One plate of the book: what can be said of it in words, and its figures by name (`unit_of`)."""

    name: str
    title: str
    role: str
    size: str
    species: str
    cut: str
    stage: str
    taken: datetime | None
    entries: int
    figures: Mapping[str, Figure]

    @property
    def group(self) -> str:
        """What plates it can be compared with: "violin top", "viola back", "panel"."""
        return self.role if self.role == "panel" or not self.size else f"{self.size} {self.role}"


def size_of(length_mm: float | None) -> str:
    """Return of which instrument a plate is by its length; empty where that is not known."""
    if length_mm is None:
        return ""
    return next(size for size, most in SIZES.items() if length_mm <= most)


def unit_of(name: str) -> str:
    """Return the unit of a figure: mode1, mode2 ... are in Hz, the constants of a fit in GPa."""
    return "Hz" if name.startswith("mode") else UNITS.get(name, "GPa")


def read_rows(folder: Path, room: Climate) -> tuple[list[Row], list[str]]:
    """Return the rows of all plates in a folder, and a sentence on each that cannot be read: it spoils no other.

    A large book is read by as many processes as there are processors, since most of the work is taking text apart.
    Raises InputError if there is no book.
    """
    places = plate_folders(folder)
    read = partial(_row_or_sentence, room=room)
    # A process that is ended with its parent may have none of its own, for nobody would end those.
    processes = 1 if current_process().daemon else min(os.cpu_count() or 1, len(places) // LEAST_SHARE)
    if processes < 2:
        found = [read(place) for place in places]
    else:
        # A copy of this process knows all modules already; where there are no copies, new ones load them again.
        context = get_context("fork" if sys.platform == "linux" else None)
        with ProcessPoolExecutor(processes, context) as pool:
            found = list(pool.map(read, places, chunksize=1 + len(places) // (4 * processes)))
    rows = [row for row in found if isinstance(row, Row)]
    return rows, [sentence for sentence in found if isinstance(sentence, str)]


def _row_or_sentence(place: Path, room: Climate) -> Row | str:
    try:
        return row_of(read_page(place), room)
    except InputError as error:
        return f"{place.name} is left out. {error}"


def row_of(page: Page, room: Climate) -> Row:
    """Return the row of a plate: newest mass and modes, in ``room`` as far as the log says in which they were taken.

    Raises InputError if its wood cannot be.
    """
    table, log = page.description.table, page.description.log
    bounds = tone_bounds(make_wood(table.wood, "plate.toml: [wood]"))
    newest = [*log.values()][-1] if log else None
    stages = [entry.stage for entry in log.values() if entry.stage]
    figures = dict(_measured(log, bounds, settled_in(room)))
    mean, least = page.thickness_mm
    figures |= {"thickness": _exact(mean), "thinnest": _exact(least), **_fitted(table.fit_that_holds)}
    return Row(
        page.name,
        table.title,
        table.role,
        size_of(page.length_mm),
        table.wood.species or "",
        _cut(table.wood),
        stages[-1] if stages else "",
        newest.taken if newest else None,
        len(log),
        figures,
    )


def _measured(
    log: Mapping[str, LogEntry], bounds: ToneBounds, there: Condition
) -> Iterator[tuple[str, Figure]]:
    """Yield mass and modes, each from the newest entry that has it."""
    observations, _ = observed(log)
    weathered = {entry.observation.name: entry for entry in moistures(observations)}
    found: dict[str, tuple[str, float]] = {}
    for name, entry in log.items():
        found |= {f"mode{mode}": (name, hz) for mode, hz in entry.modes_hz.items()}
        if entry.mass_g is not None:
            found["mass"] = (name, entry.mass_g)
    bands = {
        name: _band(weathered[name], bounds, there)
        for name in {name for name, _ in found.values()}
        if name in weathered
    }
    for figure, (name, value) in found.items():
        if name not in bands:
            yield figure, Figure(value, value, value, brought=False)
        elif figure == "mass":
            yield (
                figure,
                _between([value * mass_factor(start, there) for start in weathered[name].conditions]),
            )
        else:
            yield figure, _between([value * factor for factor in bands[name]])


def _band(seen: Weathered, bounds: ToneBounds, there: Condition) -> tuple[float, float]:
    """Return the factors, least and most, that bring any tone of an entry to the room."""
    shifts = [bounds.shift(start, there) for start in {*seen.conditions}]
    return exp(min(low for low, _ in shifts)), exp(max(high for _, high in shifts))


def _between(ends: Sequence[float]) -> Figure:
    low, high = min(ends), max(ends)
    return Figure(0.5 * (low + high), low, high)


def _exact(value: float) -> Figure:
    return Figure(value, value, value)


def _fitted(record: FittedTable | None) -> dict[str, Figure]:
    return {} if record is None else {name: _exact(getattr(record, key)) for name, key in _FITTED.items()}


def _cut(wood: WoodTable) -> str:
    turned = abs(wood.ring_deg) % 180
    angle = min(turned, 180 - turned)
    return "quarter" if angle <= QUARTER else "slab" if angle >= SLAB else "between"
