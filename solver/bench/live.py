"""A trial on the screen: what its strokes leave of the plate, and the tones by the live model after each of them."""

from dataclasses import dataclass

import numpy as np
import shapely

from meshes.removal import Removal
from solver.advice.mode_tracking import matched
from solver.advice.places_in_words import PlaceWords, in_mm
from solver.advice.shaving import LEAST_LEFT
from solver.bench.drawn_told import Line
from solver.bench.picture import Drawing, in_microns
from solver.bench.picture import in_mm as line_in_mm
from solver.bench.shown_tones import ShownTones
from solver.bench.solving import LivePlate
from solver.bench.trial_told import Patch, TrialFigures, TrialTone
from solver.core.arrays import Bools, Floats, freeze
from solver.core.errors import InputError
from solver.core.units import GRAM, MM
from solver.modal.node_lines import lines_of_motion
from solver.modal.pitch import pitch
from solver.modal.reduced import Trial
from solver.plate.plate import Plate
from solver.viewer.thinning_map import place_words

_SPECK = 0.05e-6
"""Depth [m] that is not drawn."""


@dataclass(frozen=True, eq=False)
class Taken:
    """What was taken [m] so far: at the live model's places, all over the wood, and on the picture's grid."""

    places: Floats
    points: Floats
    grid: Floats

    def __post_init__(self) -> None:
        freeze(self, places=((None,), float), points=((None,), float), grid=((None,), float))


@dataclass(frozen=True, eq=False)
class LiveBench:
    """A plate under the scraper of the page: as it stands, live, and as it is drawn."""

    plate: Plate
    live: LivePlate
    drawing: Drawing
    spared: Bools
    words: PlaceWords

    def untouched(self) -> Taken:
        """Return that nothing was taken."""
        sizes = (len(self.live.model.places), len(self.live.points), len(self.drawing.thickness))
        return Taken(*(np.zeros(size) for size in sizes))

    def after(self, taken: Taken, removal: Removal) -> Taken:
        """Return what is taken after one more removal; nothing under the bar."""
        on_grid = np.where(self.spared, 0.0, removal.at(self.drawing.grid.points))
        return Taken(
            taken.places + removal.at(self.live.model.places),
            taken.points + removal.at(self.live.points),
            taken.grid + on_grid,
        )

    def check_left(self, taken: Taken) -> None:
        """Refuse what would leave no plate.

        Raises
        ------
        InputError
            If less than 0.8 mm would be left somewhere that wood is taken.
        """
        left = np.where(taken.points > 0, self.live.thickness - taken.points, np.inf)
        worst = int(left.argmin())
        if left[worst] < LEAST_LEFT:
            raise InputError(
                f"That would leave {left[worst] / MM:.2f} mm at {in_mm(self.live.points[worst])}; expected at least "
                f"{LEAST_LEFT / MM:g} mm. The stroke was not taken; cut less."
            )


def live_bench(plate: Plate, live: LivePlate, drawing: Drawing) -> LiveBench:
    """Return the bench of a plate."""
    points = drawing.grid.points
    spared = np.zeros(len(points), np.bool_)
    if plate.bar is not None:
        spared = np.asarray(shapely.contains_xy(shapely.Polygon(plate.bar.footprint), points))
    return LiveBench(plate, live, drawing, spared, place_words(plate))


def trial_as_json(bench: LiveBench, taken: Taken, least: float | None) -> TrialFigures:
    """Return what the page shows of a trial: its tones by those of the untouched plate, mass, thinnest place.

    ``least`` [m] is the thickness nowhere to be passed, if one is set. Raises InputError where the live model does not
    reach: more than 60 % of the thickness.
    """
    trial, mass_share = bench.live.model.untouched.with_removal(taken.places), bench.live.tones.mass_share
    left = bench.live.thickness - taken.points
    thinnest = int(left.argmin())
    spot = bench.live.points[thinnest]
    before = bench.live.model.modes
    return {
        "modes": _tones(trial, bench.live.tones),
        "mass_g": round(mass_share * trial.mass / GRAM, 3),
        "removed_g": round(mass_share * (before.mass - trial.mass) / GRAM, 4),
        "deepest_mm": round(float(taken.points.max()) / MM, 3),
        "thinnest_mm": round(float(left[thinnest]) / MM, 3),
        "thinnest_at_mm": [float(round(value / MM)) for value in spot],
        "thinnest_words": bench.words.at(spot),
        "holds": trial.holds,
        "too_thin": least is not None and bool(((taken.points > 0) & (left < least)).any()),
    }


def _tones(trial: Trial, shown: ShownTones) -> list[TrialTone]:
    """Return the tones in the order of those before."""
    before = trial.model.modes
    now = trial.hz
    tones: dict[int, TrialTone] = {}
    for index, place in enumerate(_followed(trial)):
        share = shown.share(place)
        hz = share * float(now[index])
        note, cents = pitch(hz)
        tone: TrialTone = {
            "order": place + 1,
            "order_after": index + 1,
            "before_hz": round(share * float(before.hz[place]), 3),
            "hz": round(hz, 3),
            "doubt_hz": round(float(trial.doubt[index]) * hz, 3),
            "note": note,
            "cents": round(cents, 1),
        }
        ends = shown.ends(place, hz)
        if ends is not None:  # the wood was fitted
            tone["low_hz"], tone["high_hz"] = round(ends[0], 3), round(ends[1], 3)
        tones[place] = tone
    return [tones[place] for place in sorted(tones)]


def _followed(trial: Trial) -> list[int]:
    """Return which tone before each tone is, followed by its shape in the model's own coordinates."""
    shapes = trial.reduced.vectors[6:].T
    shapes = shapes / np.linalg.norm(shapes, axis=1, keepdims=True)
    places: list[int] = matched(shapes, np.eye(len(trial.model.modes.hz), shapes.shape[1])).tolist()
    return places


def trial_lines(bench: LiveBench, taken: Taken) -> list[list[Line]]:
    """Return the node lines [mm] of each tone after wood was taken, in the order of the tones before."""
    trial = bench.live.model.untouched.with_removal(taken.places)
    motion = trial.normal_motion
    lines: dict[int, list[Line]] = {
        place: [line_in_mm(line) for line in lines_of_motion(trial.model.modes, motion[index])]
        for index, place in enumerate(_followed(trial))
    }
    return [lines[place] for place in sorted(lines)]


def patch_as_json(bench: LiveBench, taken: Taken, before: Taken) -> Patch | None:
    """Return the rectangle of the picture's grid in which two states differ: its place, and what is taken there in um."""
    rows, columns = bench.drawing.grid.inside.shape
    differs = (np.abs(taken.grid - before.grid) > _SPECK).reshape(rows, columns)
    if not differs.any():
        return None
    high, wide = np.flatnonzero(differs.any(axis=1)), np.flatnonzero(differs.any(axis=0))
    part = taken.grid.reshape(rows, columns)[high[0] : high[-1] + 1, wide[0] : wide[-1] + 1]
    return {
        "row": int(high[0]),
        "column": int(wide[0]),
        "rows": part.shape[0],
        "columns": part.shape[1],
        "taken_um": in_microns(part.ravel()),
    }
