"""A plate as it truly is, and a maker who knows of it what rulers, caliper, scales, ear and hygrometer tell.

`TruePlate` answers with the project's own solver, on a finer mesh than the program takes by itself. `Maker` writes the
plate's folder and its log through the program's own files and commands.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import shapely

from meshes.removal import Removal
from solver.core.arrays import Floats, Ints
from solver.core.units import GRAM, MM
from solver.modal.modes import Modes, solve_modes
from solver.plate.climate import Climate, equilibrium_moisture, swollen_by
from solver.plate.mass import plate_mass
from solver.plate.plate import Plate
from solver.plate.swollen import swollen_plate
from solver.plate.thinning import thinned
from solver.plate.wood import Wood
from solver.plate_folder.write import table_text, write_new_folder
from tests.followed_plate import ROOM, true_weather
from tests.trials.plausible_plates import PlausiblePlate
from tests.trials.seen_numbers import LOOKED_AT, NUMBERS, Seen

FINER = 0.85
"""Elements of the truth over those that the program takes by itself."""
CALIPER_MM, CALIPER_OFF_MM = 0.05, 0.015
"""Standard deviations of one reading, and of what the caliper shows too much everywhere."""
HEIGHT_MM, EAR, SCALES_G = 0.1, 0.003, 0.1
"""The same of a height of the arch, of a tone heard as a share of it, of the scales."""
READ_MM, HEIGHTS_MM = 24.0, 12.0
"""Distances of the caliper's readings, and of the heights, on a violin."""
FROM_RIM_MM = 5.0
LAG_PCT, AIR_OFF_PCT = 0.3, 2.0
"""Standard deviations of what the wood lags behind its room, and of what the hygrometer shows too much."""
BAR_HEIGHT_MM = 0.2
HEARD_BESIDE = 3
"""Tones that a maker notes beside 1, 2 and 5."""
START = datetime(2026, 3, 1, 18, 0, tzinfo=timezone(timedelta(hours=1)))


@dataclass(frozen=True, eq=False)
class Weather:
    """How this wood truly answers to a room: where in the band of the rules, its lag, the hygrometer's error."""

    in_band: Floats
    lag_pct: float
    air_off_pct: float


@dataclass(frozen=True, eq=False)
class TruePlate:
    """The plate as it is at 20 °C and 50 %, and how it answers to other rooms."""

    plate: Plate
    weather: Weather

    def after(self, removal: Removal) -> "TruePlate":
        """Return the plate after wood was taken from its inside."""
        return replace(self, plate=thinned(self.plate, removal))

    def modes(self, room: Climate = ROOM) -> Modes:
        """Return its tones in a room, as that room's hygrometer names it."""
        plate = self.plate if room == ROOM else self._in(room)
        size = FINER * 0.016 * float(np.sqrt(plate.outline.area / 0.055))
        return solve_modes(plate, LOOKED_AT, size)

    def mass(self, room: Climate) -> float:
        """Return what it weighs [kg] in a room."""
        return plate_mass(self._in(room))

    def _in(self, room: Climate) -> Plate:
        plate, weather = self.plate, self.weather
        start = equilibrium_moisture(ROOM) - weather.lag_pct
        air = Climate(room.temperature_c, room.humidity_pct - weather.air_off_pct)
        moisture = equilibrium_moisture(air) - weather.lag_pct

        def damp(wood: Wood) -> Wood:
            return true_weather(wood, moisture, room.temperature_c, start, weather.in_band)

        bar = plate.bar and replace(plate.bar, wood=damp(plate.bar.wood))
        return swollen_plate(
            replace(plate, wood=damp(plate.wood), bar=bar), swollen_by(plate.wood, moisture - start)
        )


def true_plate(plausible: PlausiblePlate) -> TruePlate:
    """Return the truth of a plausible plate, with a way to answer to the weather drawn for it."""
    noise = plausible.noise
    weather = Weather(
        noise.uniform(0.15, 0.85, 3), float(noise.normal(0, LAG_PCT)), float(noise.normal(0, AIR_OFF_PCT))
    )
    return TruePlate(plausible.plate, weather)


def a_day(noise: np.random.Generator) -> Climate:
    """Draw the room of another day as it is read."""
    return Climate(float(np.round(noise.uniform(17, 23), 1)), float(np.round(noise.uniform(38, 62))))


class Maker:
    """Who writes down what he measures; ``folder`` is the plate's."""

    def __init__(self, folder: Path, plausible: PlausiblePlate, least_mm: float) -> None:
        self.folder, self._plausible, self._noise = folder, plausible, plausible.noise
        self._least_mm = least_mm
        self._caliper_off = float(self._noise.normal(0, CALIPER_OFF_MM))
        self._places = _reading_places(plausible.plate, READ_MM * plausible.scale * MM)
        self._bar_off = float(self._noise.normal(0, BAR_HEIGHT_MM))
        self._mass_g = 0.0
        self._wishes: Mapping[str, float] = {}

    def begin(self, truth: TruePlate, wishes: Mapping[str, float], mass_g: float) -> None:
        """Write the folder: outline, holes and bar as drawn, heights and thickness as read, the mass, the wishes."""
        plate, scale = truth.plate, self._plausible.scale
        self._wishes, self._mass_g = wishes, mass_g
        grid = _grid(plate, HEIGHTS_MM * scale * MM)
        places = np.vstack([grid, plate.outline.edge.sampled(HEIGHTS_MM * scale * MM)])
        heights = plate.arch.at(places).height / MM + self._noise.normal(0, HEIGHT_MM, len(places))
        holes = {
            f"holes/{hole.name}.csv": _edge_text(hole.knots, hole.corners) for hole in plate.outline.holes
        }
        files = {
            "outline.csv": _edge_text(plate.outline.edge.knots, plate.outline.edge.corners),
            **holes,
            "arch.csv": table_text(
                ("x_mm", "y_mm", "z_mm"), np.column_stack([np.round(places / MM, 2), np.round(heights, 1)])
            ),
            thickness_file(0): self._readings(truth),
            "plate.toml": self._plate_toml(0, [*holes]),
        }
        write_new_folder(self.folder, files)

    def measure_thickness(self, truth: TruePlate, stage: int) -> None:
        """Go over the plate with the caliper, and let plate.toml name the new readings; what was fitted stays."""
        (self.folder / thickness_file(stage)).write_text(self._readings(truth))
        self._swap(f'file = "{thickness_file(stage - 1)}"', f'file = "{thickness_file(stage)}"')

    def weigh(self, truth: TruePlate, room: Climate) -> float:
        """Return what the scales show [g] in a room."""
        return round(truth.mass(room) / GRAM + float(self._noise.normal(0, SCALES_G)), 1)

    def note_mass(self, mass_g: float) -> None:
        """Put a new weighing into plate.toml in place of the old."""
        self._swap(f"mass_g = {self._mass_g}\n", f"mass_g = {mass_g}\n")
        self._mass_g = mass_g

    def tap(self, seen: Seen) -> tuple[Mapping[str, float], tuple[float, ...]]:
        """Return the tones heard: those with a number, and some beside them."""
        heard = np.round(seen.modes.hz * np.exp(self._noise.normal(0, EAR, len(seen.modes.hz))), 1)
        others = [k for k in range(LOOKED_AT) if k not in seen.places.values()]
        beside = self._noise.choice(others, HEARD_BESIDE, replace=False)
        numbered = {number: float(heard[seen.places[number]]) for number in NUMBERS}
        return numbered, tuple(float(heard[k]) for k in sorted(beside))

    def _swap(self, old: str, new: str) -> None:
        file = self.folder / "plate.toml"
        text = file.read_text()
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
        file.write_text(text.replace(old, new))

    def _readings(self, truth: TruePlate) -> str:
        true = truth.plate.graduation.at(self._places) / MM
        read = true + self._caliper_off + self._noise.normal(0, CALIPER_MM, len(true))
        return table_text(
            ("x_mm", "y_mm", "t_mm"), np.column_stack([np.round(self._places / MM, 1), np.round(read, 2)])
        )

    def _plate_toml(self, stage: int, holes: list[str]) -> str:
        plate, usual = self._plausible.plate, self._plausible.usual_EL_GPa
        wishes = ", ".join(f"{number} = {hz:.1f}" for number, hz in self._wishes.items())
        return "\n".join(
            [
                "format = 1",
                f'title = "{plate.title}"',
                f'role = "{plate.role}"',
                "[outline]",
                'file = "outline.csv"',
                f"holes = {json.dumps(holes)}",
                '[arch]\nfile = "arch.csv"',
                f'[thickness]\nfile = "{thickness_file(stage)}"',
                f'[wood]\nspecies = "{self._plausible.species}"\nmass_g = {self._mass_g}',
                *([f"EL_GPa = {usual}"] if usual else []),
                *self._bar_lines(),
                f"[climate]\ntemperature_c = {ROOM.temperature_c}\nhumidity_pct = {ROOM.humidity_pct}",
                f"[wanted]\nmodes_hz = {{ {wishes} }}\nmin_thickness_mm = {self._least_mm}",
                "",
            ]
        )

    def _bar_lines(self) -> list[str]:
        bar = self._plausible.plate.bar
        if bar is None:
            return []
        profile = [[float(f), round(float(h / MM), 1)] for f, h in bar.profile]
        profile[1][1] = round(profile[1][1] + self._bar_off, 1)
        return [
            "[bar]",
            f"from_mm = {np.round(bar.start / MM, 1).tolist()}",
            f"to_mm = {np.round(bar.end / MM, 1).tolist()}",
            f"width_mm = {bar.width / MM:.1f}",
            f"height_mm = {profile}",
        ]


def thickness_file(stage: int) -> str:
    """Return the name of the caliper's readings of a stage."""
    return f"thickness-{stage}.csv"


def _edge_text(knots: Floats, corners: Ints) -> str:
    times = np.ones(len(knots), dtype=int)
    times[corners] = 2
    return table_text(("x_mm", "y_mm"), np.round(np.repeat(knots, times, axis=0) / MM, 3))


def _grid(plate: Plate, step: float) -> Floats:
    """Points (n, 2) [m] of a square grid on the plate, its holes not heeded."""
    whole = plate.outline.without_holes()
    x0, y0, x1, y1 = whole.bounds
    x, y = np.meshgrid(np.arange(x0 + step / 2, x1, step), np.arange(y0 + step / 2, y1, step), indexing="ij")
    points = np.column_stack([x.ravel(), y.ravel()])
    return points[whole.contains(points)]


def _reading_places(plate: Plate, step: float) -> Floats:
    """Where a caliper gets: a grid and a row along the rim, but not at the edge, in a hole or on the bar."""
    scale = step / (READ_MM * MM)
    reach = plate.outline.polygon.buffer(-0.98 * FROM_RIM_MM * MM * scale)
    rim = plate.outline.without_holes().polygon.buffer(-FROM_RIM_MM * MM * scale).exterior
    row = [rim.interpolate(s) for s in np.arange(0, rim.length, 1.5 * step)]
    along = np.array([[point.x, point.y] for point in row])
    points = np.vstack([_grid(plate, step), along])
    points = points[shapely.contains_xy(reach, points)]
    if plate.bar is not None:
        strip = shapely.Polygon(plate.bar.footprint).buffer(2 * MM)
        points = points[~shapely.contains_xy(strip, points)]
    return points
