"""Wishes that a plate can be brought to: the tones of the true plate thinned a little by a smooth map within its limits."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from meshes.removal import SmoothRemoval
from meshes.smooth_map import map_of_function
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.plate.mass import survey_cells
from tests.trials.making_records import WISHED
from tests.trials.plausible_plates import PlausiblePlate, SmoothField, smooth_field
from tests.trials.seen_numbers import Patterns, Seen, seen_numbers
from tests.trials.simulated_maker import TruePlate

WISH_PCT = (1.0, 5.0)
"""How far the one of modes 2 and 5 that is farther from its wish is from it at the beginning, where limits leave room."""
REACH_MM = 60.0
_LEAST_SHARE, _LEFT_MM = 0.8, 0.1
_FIRST_TRY_MM, _STEP_MM = 0.15, 6.0


@dataclass(frozen=True)
class Wished:
    """The wishes [Hz] and the least thickness [mm] that the maker allows himself."""

    hz: Mapping[str, float]
    least_mm: float


def wishes_for(plausible: PlausiblePlate, truth: TruePlate, patterns: Patterns, seen: Seen) -> Wished:
    """Draw how far the plate is to be thinned, and return the tones of it; ``seen`` are those of the plate as it is."""
    noise, scale = plausible.noise, plausible.scale
    points = survey_cells(truth.plate.outline).points
    now = truth.plate.graduation.at(points)
    least_mm = round(_LEAST_SHARE * float(np.quantile(now, 0.1)) / MM, 1)
    field = smooth_field(noise, REACH_MM * scale * MM)
    deepest = float(((now - (least_mm + _LEFT_MM) * MM) / _shares(field, points)).min())
    bounds = truth.plate.outline.bounds

    def thinned(depth: float) -> Seen:
        taken = map_of_function(lambda places: depth * _shares(field, places), bounds, _STEP_MM * scale * MM)
        return seen_numbers(patterns, truth.after(SmoothRemoval(taken)).modes(), seen)

    tried = min(_FIRST_TRY_MM * scale * MM, deepest)
    first = thinned(tried)
    moved = max(abs(first.hz(number) / seen.hz(number) - 1) for number in WISHED)
    wished = thinned(min(tried * noise.uniform(*WISH_PCT) / 100 / moved, deepest))
    return Wished({number: round(wished.hz(number), 1) for number in WISHED}, least_mm)


def _shares(field: SmoothField, points: Floats) -> Floats:
    """Depth (n,) over the greatest: nearly nothing in some places, nearly all in others."""
    return np.asarray(0.55 + 0.45 * np.tanh(field.at(points)))
