"""What the page rests on, computed once per plate in a process of its own: tones, live model, shaving maps."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from solver.advice.mode_tracking import weighed_shapes
from solver.advice.plan_trials import PlanBench, PlanTrial, plan_bench, wood_in_reach
from solver.advice.plate_patterns import SHAPES, KnownShapes
from solver.advice.tap_reading import MOST_COMPUTED
from solver.advice.thinning import ThinningMap
from solver.advice.tone_response import MeshedPlate, response_of
from solver.bench.picture import LINES
from solver.bench.shown_tones import ShownTones, expected_tones
from solver.bench.work import Progress
from solver.commands.belief import belief_of
from solver.commands.tap import tapped_plate
from solver.core.arrays import Floats, Singles, freeze
from solver.core.parallel import both
from solver.modal.assembly import ModalModel, assemble
from solver.modal.modes import Modes, lowest, modes_of
from solver.modal.reduced import ReducedModel, reduced_model
from solver.modal.reduced_section import reduced_section
from solver.modal.sensitivity import thinning_sensitivity
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_folder
from solver.viewer.plan_view import plan_grid
from solver.viewer.thinning_map import over_a_shaving

SHOWN = 8
"""Tones on the page, as many as ``platewright modes`` shows."""

_KNOWN = 20
"""Tones computed, from which the live model is built."""


@dataclass(frozen=True, eq=False)
class LivePlate:
    """A plate that can be thinned on the page: its live model, and points (n, 2) [m] over all wood that a tool reaches.

    ``thickness`` (n,) [m] is what stands there, ``tones`` what is expected of the plate before any of it goes.
    """

    model: ReducedModel
    tones: ShownTones
    points: Floats
    thickness: Floats

    def __post_init__(self) -> None:
        freeze(self, points=((None, 2), float), thickness=((len(self.points),), float))


@dataclass(frozen=True, eq=False)
class ShavingMaps:
    """What a shaving does to each tone shown (k, n) [Hz for 0.1 mm from 1 cm2] at the n points of the picture's grid."""

    hz: Singles

    def __post_init__(self) -> None:
        freeze(self, hz=((None, None), np.float32))


def solve_plate(progress: Progress, folder: str) -> None:
    """Hand over the tones of the plate in a folder as ``modes``, then it ``live``, its ``shavings``, it as ``tapped``, its
    ``shapes``.

    Raises
    ------
    InputError
        If the folder cannot be understood or no sound mesh can be made.
    """
    progress.say("Reading the plate", 0.0)
    read = read_folder(read_description(Path(folder)))
    bench = plan_bench(read.plate)
    progress.say("Solving for its tones", 0.1)
    model = assemble(bench.plate, bench.mesh, bench.cubic)
    known, section = both(lambda: modes_of(model, _KNOWN), lambda: reduced_section(model))
    shown = lowest(known, SHOWN)
    on = MeshedPlate(bench.plate, bench.mesh, bench.cubic)
    tones = expected_tones(shown, on, model, belief_of(read, read.plate))
    progress.hand_over("modes", tones)
    progress.say("Getting ready for the scraper", 0.4)
    points = wood_in_reach(bench)
    thickness = bench.plate.graduation.at(points)
    progress.hand_over("live", LivePlate(reduced_model(model, known, section), tones, points, thickness))
    progress.say("What a shaving does where", 0.85)
    progress.hand_over("shavings", _shaving_maps(bench, model, shown))
    progress.say("Getting ready for taps and powder", 0.9)
    many = modes_of(model, SHAPES)
    heard = lowest(many, MOST_COMPUTED)
    progress.hand_over("tapped", tapped_plate(read, lambda doubts: response_of(on, model, heard, doubts)))
    progress.hand_over("shapes", KnownShapes(on, many))


def _shaving_maps(bench: PlanBench, model: ModalModel, modes: Modes) -> ShavingMaps:
    trial = PlanTrial(model, modes, weighed_shapes(modes, bench.cells))
    thinning = ThinningMap(trial, thinning_sensitivity(model, modes), ())
    grid = plan_grid(bench.plate.outline, LINES)
    maps = [over_a_shaving(thinning, values, grid).ravel() for values in thinning.sensitivity.hz_map]
    return ShavingMaps(np.array(maps, np.float32))
