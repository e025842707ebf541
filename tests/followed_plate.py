"""A top as it really was at seven stages of its making, and what its maker measured and wrote down of it.

The truth is another plate than the one in the folder: its wood is not the table's and not quite on the quarter, its arch is
a formula that the folder knows by heights read to a tenth, its bar is higher, the caliper errs, and it answers to the
weather otherwise than the middle of the rules, in a room whose hygrometer is off. Readings have the noise of a workshop.
"""

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np

from solver.core.arrays import Floats
from solver.core.units import GRAM, MM
from solver.modal.modes import Modes, solve_modes
from solver.plate.bar import Bar
from solver.plate.climate import Climate, equilibrium_moisture, moisture_losses, swollen_by, warmth
from solver.plate.parts import without
from solver.plate.swollen import swollen_plate
from solver.plate.wood import Wood
from tests.validation.shell_plate import as_plate, reading_places, write_folder
from tests.validation.solid_plates import VIOLIN_TOP_BARRED
from tests.validation.violin_shapes import hump

TAPPED, UNNUMBERED = ("1", "2", "5"), ("3", "4")
"""Modes that the maker knows by their pattern, and others that are heard between them."""
TAPPING = 0.004
"""Noise of a tone that is tapped and read."""
ROOM = Climate(20.0, 50.0)
"""Where the figures of the folder hold."""


@dataclass(frozen=True)
class Stage:
    """One entry: thickness [mm] of the rim and more in the middle, parts not there yet, the room as read, the day."""

    name: str
    least: float
    more: float
    lacks: tuple[str, ...]
    room: Climate
    day: int


STAGES = (
    Stage("hollowed", 3.5, 0.9, ("holes", "bar"), Climate(20, 50), 1),
    Stage("thinned", 3.0, 0.8, ("holes", "bar"), Climate(19, 46), 5),
    Stage("thinned again", 2.6, 0.7, ("holes", "bar"), Climate(20, 48), 9),
    Stage("a humid week", 2.6, 0.7, ("holes", "bar"), Climate(22, 74), 16),
    Stage("holes cut", 2.6, 0.7, ("bar",), Climate(21, 55), 21),
    Stage("bar fitted", 2.6, 0.7, (), Climate(20, 47), 25),
    Stage("final", 2.5, 0.7, (), Climate(20, 50), 29),
)

TRUE_WOOD = Wood(
    417.0, 11.9e9, 0.74e9, 0.50e9, 0.66e9, 0.64e9, 0.033e9, 0.37, 0.46, 0.60, np.radians(1.5), np.radians(5.0)
)
"""Against Norway spruce of the tables: EL +9, ER +16, GLR +14, GRT +27 %, grain and rings a little askew."""

TRUE_BAR = Bar(
    np.array([0.045, 0.017]),
    np.array([0.265, 0.013]),
    5.5 * MM,
    np.array([[0.0, 2.5e-3], [0.5, 8e-3], [1.0, 2.5e-3]]),
    replace(TRUE_WOOD, EL=13e9, grain=0.0, ring=0.0),
)
CALIPER_MM, UNEVEN_MM, HEIGHT_MM = 0.02, 0.03, 0.05
DRIER_PCT, AIR_OFF_PCT = 0.3, 2.0
"""What the wood lags behind the table of moisture, and what the hygrometer shows too much."""
IN_THE_BAND = np.array([0.35, 0.6, 0.4])
"""How far from the least to the most of the rules the true moduli answer along, across and in shear."""

PLATE_TOML = """\
format = 1
title = "A top followed"
role = "top"
[outline]
file = "outline.csv"
holes = ["holes/1.csv", "holes/2.csv"]
[arch]
file = "arch.csv"
[thickness]
file = "{thickness}"
[wood]
species = "Norway spruce"
density_kg_m3 = 410
[bar]
from_mm = [45.0, 17.0]
to_mm = [265.0, 13.0]
width_mm = 5.5
height_mm = [[0.0, 2.5], [0.5, 7.8], [1.0, 2.5]]
[bar.wood]
species = "Norway spruce"
density_kg_m3 = 435
EL_GPa = 12.5
[climate]
temperature_c = 20.0
humidity_pct = 50.0
"""


def true_weather(
    wood: Wood, moisture: float, temperature: float, start: float, in_band: Floats = IN_THE_BAND
) -> Wood:
    """The true wood in another room; ``moisture`` and ``start`` [%], its own as stated at 20 °C.

    ``in_band`` (3,) tells how far from the least to the most of the rules it answers along, across and in shear.
    """
    least, most = moisture_losses(wood).T
    mild, strong = warmth(temperature).T
    change = -(least + in_band * (most - least)) * (moisture - start) + mild + 0.4 * (strong - mild)
    along, across, shear = np.exp(change)
    volume = float(swollen_by(wood, moisture - start).prod())
    return replace(
        wood,
        density=wood.density * (100 + moisture) / (100 + start) / volume,
        EL=wood.EL * along,
        ER=wood.ER * across,
        ET=wood.ET * across,
        GLR=wood.GLR * shear,
        GLT=wood.GLT * shear,
        GRT=wood.GRT * shear,
    )


@cache
def truth(stage: int, weather: int) -> Modes:
    """The plate as it really was at one stage, in the room of another."""
    now, room = STAGES[stage], STAGES[weather].room
    thickness = hump(now.least * MM, now.more * MM, (0.190, 0.004), (0.085, 0.055))
    reference = replace(VIOLIN_TOP_BARRED, wood=TRUE_WOOD, bar=TRUE_BAR, thickness=thickness)
    plate = without(as_plate(reference), now.lacks)
    start = equilibrium_moisture(ROOM) - DRIER_PCT
    air = Climate(room.temperature_c, room.humidity_pct - AIR_OFF_PCT)
    moisture = equilibrium_moisture(air) - DRIER_PCT
    damp = true_weather(plate.wood, moisture, room.temperature_c, start)
    bar = (
        None
        if plate.bar is None
        else replace(plate.bar, wood=true_weather(plate.bar.wood, moisture, 20, start))
    )
    plate = replace(plate, wood=damp, bar=bar)
    return solve_modes(swollen_plate(plate, swollen_by(TRUE_WOOD, moisture - start)), 8)


def true_hz(stage: int, weather: int, mode: str) -> float:
    modes = truth(stage, weather)
    return float(modes.hz[modes.names.index(mode)])


def write_start(folder: Path, noise: np.random.Generator) -> None:
    """Write what the maker measured of outline, holes and arch, and the caliper's readings at every stage."""
    write_folder(VIOLIN_TOP_BARRED, folder, 12 * MM)
    heights = np.genfromtxt(folder / "arch.csv", delimiter=",", skip_header=1)
    heights[:, 2] += noise.normal(0, HEIGHT_MM, len(heights))
    np.savetxt(folder / "arch.csv", heights, "%.1f", ",", header="x_mm,y_mm,z_mm", comments="")
    places = reading_places(VIOLIN_TOP_BARRED, 24 * MM)
    for number, stage in enumerate(STAGES):
        field = hump(stage.least * MM, stage.more * MM, (0.190, 0.004), (0.085, 0.055))
        true = replace(VIOLIN_TOP_BARRED, thickness=field).thickness_at(places) / MM
        read = true + CALIPER_MM + noise.normal(0, UNEVEN_MM, len(true))
        rows = np.column_stack([places / MM, 0.05 * np.round(read / 0.05)])
        name = folder / thickness_file(number)
        np.savetxt(name, rows, "%.2f", ",", header="x_mm,y_mm,t_mm", comments="")


def thickness_file(stage: int) -> str:
    """The readings at a stage; those of the humid week are the ones before it."""
    return f"thickness-{2 if 2 <= stage <= 5 else stage}.csv"


def write_plate(folder: Path, stage: int, records: str) -> None:
    """Set the folder to the thickness of a stage, and keep what was fitted."""
    (folder / "plate.toml").write_text(PLATE_TOML.format(thickness=thickness_file(stage)) + records)


def write_entry(folder: Path, number: int, noise: np.random.Generator) -> dict[str, float]:
    """Tap, weigh and write it down; return the tones noted."""
    stage = STAGES[number]
    heard = {
        mode: round(2 * true_hz(number, number, mode) * float(np.exp(noise.normal(0, TAPPING)))) / 2
        for mode in (*TAPPED, *UNNUMBERED)
    }
    mass = truth(number, number).mass / GRAM + noise.normal(0, 0.15)
    lacks = ", ".join(f'"{part}"' for part in stage.lacks)
    tones = ", ".join(f"{mode} = {heard[mode]}" for mode in TAPPED)
    others = ", ".join(f"{heard[mode]}" for mode in UNNUMBERED)
    (folder / "log").mkdir(exist_ok=True)
    (folder / "log" / f"2026-03-{stage.day:02d}T180000.toml").write_text(
        f'taken = 2026-03-{stage.day:02d}T18:00:00+01:00\nstage = "{stage.name}"\n'
        f"temperature_c = {stage.room.temperature_c}\nhumidity_pct = {stage.room.humidity_pct}\nmass_g = {mass:.1f}\n"
        f"modes_hz = {{ {tones} }}\ntones_hz = [{others}]\n"
        f'thickness = "{thickness_file(number)}"\nwithout = [{lacks}]\n'
    )
    return heard
