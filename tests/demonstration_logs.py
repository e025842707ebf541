"""The logs of demonstration plates: invented measurements, worked out. ``python -m tests.demonstration_logs [CASE ...]``.

What is tapped and weighed is another plate than the one in the folder: its wood lies some per cent beside what stands
there, and it has come to the room of that day. The ear and the scales err.
"""

import json
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from solver.core.units import GRAM
from solver.modal.modes import Modes, solve_modes
from solver.plate.climate import Climate, equilibrium_moisture, swollen_by
from solver.plate.parts import without
from solver.plate.swollen import swollen_plate
from solver.plate.wood import Wood
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_folder
from tests.followed_plate import true_weather

CASES = Path("cases")
EAR, SCALES_G = 0.003, 0.1
"""Noise of a tone that is tapped and read, and of a mass."""
BOARD = {"density": 0.006, "EL": 0.05, "ER": 0.05, "ET": 0.05, "GLR": 0.02, "GLT": 0.05, "GRT": 0.10}
"""By how much a board strays from what stands in its folder, as shares."""


@dataclass(frozen=True)
class Entry:
    """One entry: plate, file, the room, the parts not there yet, modes told by their number, others that were heard."""

    case: str
    stamp: str
    stage: str
    room: Climate
    note: str = ""
    lacks: tuple[str, ...] = ()
    numbered: tuple[str, ...] = ("1", "2", "5")
    heard: tuple[str, ...] = ()


ENTRIES = (
    Entry(
        "violin-top-finished",
        "2026-08-10T190000",
        "holes cut",
        Climate(19.0, 50.0),
        "stems still to be cleaned up",
        lacks=("bar",),
    ),
    Entry(
        "violin-top-finished",
        "2026-08-17T181000",
        "bar fitted",
        Climate(20.5, 47.0),
        "bar left a hair high; the treble side answers later than the bass",
        heard=("3",),
    ),
    Entry(
        "violin-back-walnut",
        "2026-08-22T170500",
        "first graduation",
        Climate(19.5, 53.0),
        "planes clean both ways; stopped while the middle still has wood",
    ),
    Entry("viola-top", "2026-04-08T203000", "holes cut", Climate(20.0, 44.0)),
)


def true_modes(entry: Entry) -> Modes:
    """Return the modes of the plate as it really was that day."""
    description = read_description(CASES / entry.case)
    plate = without(read_folder(description).plate, entry.lacks)
    room = description.table.climate
    assert room is not None
    start = equilibrium_moisture(Climate(room.temperature_c, room.humidity_pct))
    moisture = equilibrium_moisture(entry.room)
    board = np.random.default_rng([*entry.case.encode()])

    def there(wood: Wood) -> Wood:
        strayed = {name: getattr(wood, name) * np.exp(board.normal(0, sd)) for name, sd in BOARD.items()}
        return true_weather(replace(wood, **strayed), moisture, entry.room.temperature_c, start)

    scale = swollen_by(plate.wood, moisture - start)
    wood = there(plate.wood)
    bar = None if plate.bar is None else replace(plate.bar, wood=there(plate.bar.wood))
    return solve_modes(swollen_plate(replace(plate, wood=wood, bar=bar), scale), 8)


def text_of(entry: Entry, modes: Modes) -> str:
    """Return what was written down: tones to half a Hz, grams to a tenth."""
    noise = np.random.default_rng([*entry.stamp.encode()])
    names = (*entry.numbered, *entry.heard)
    tones = [modes.hz[modes.names.index(name)] * np.exp(noise.normal(0, EAR)) for name in names]
    read = {name: f"{round(2 * float(hz)) / 2:.1f}" for name, hz in zip(names, tones, strict=True)}
    lines = [
        f"taken = {entry.stamp[:13]}:{entry.stamp[13:15]}:00+02:00",
        f'stage = "{entry.stage}"',
        f"temperature_c = {entry.room.temperature_c}",
        f"humidity_pct = {entry.room.humidity_pct}",
        f"mass_g = {modes.mass / GRAM + noise.normal(0, SCALES_G):.1f}",
        f"modes_hz = {{ {', '.join(f'{name} = {read[name]}' for name in entry.numbered)} }}",
    ]
    if entry.heard:
        lines.append(f"tones_hz = [{', '.join(read[name] for name in entry.heard)}]")
    if entry.lacks:
        lines.append(f"without = {json.dumps(entry.lacks)}")
    if entry.note:
        lines.append(f'note = "{entry.note}"')
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    for entry in ENTRIES:
        if not sys.argv[1:] or entry.case in sys.argv[1:]:
            modes = true_modes(entry)
            print(entry.case, entry.stamp, entry.room, np.round(modes.hz, 1), modes.names)
            (CASES / entry.case / "log" / f"{entry.stamp}.toml").write_text(text_of(entry, modes))
