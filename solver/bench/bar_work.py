"""Another bar tried on the plate, beside the one that it has: both solved in full, in a process of its own."""

import json
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from solver.advice.bar_trials import BarSweep, check_bar, compare_bars, solve_bars
from solver.advice.fitted_bars import fitted_comparison
from solver.bench.work import Progress
from solver.commands.belief import beliefs_of
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM
from solver.modal.node_lines import node_lines
from solver.plate.bar import Bar
from solver.plate.plate import Plate
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_folder
from solver.stock import usual_bar


@dataclass(frozen=True)
class BarOrder:
    """The plate's folder, and the bar to be tried: its ends in plan, width, and height where it is highest, all in mm."""

    folder: str
    from_mm: tuple[float, float]
    to_mm: tuple[float, float]
    width_mm: float
    height_mm: float

    @property
    def as_text(self) -> str:
        """The order as it is handed to the process."""
        return json.dumps(self.__dict__)


@dataclass(frozen=True, eq=False)
class BarComparison:
    """The plate without a bar, with its own and with the tried one; node lines of both, tone by tone, each (p, 2) [m]."""

    sweep: BarSweep
    lines: tuple[tuple[tuple[Floats, ...], ...], ...]


def present_bar(plate: Plate) -> Bar:
    """Return the plate's bar, or the one that a top of its length usually has.

    Raises
    ------
    InputError
        If it has none and by custom gets none.
    """
    if plate.bar is None and plate.role != "top":
        raise InputError(
            f"plate.toml: it describes no bar, and a {plate.role} gets none by custom; expected a top, or a bar to vary. "
            "Describe it in a table [bar]."
        )
    return plate.bar or usual_bar(plate.outline, plate.wood)


def highest(bar: Bar) -> float:
    """Return the height [m] of a bar where it is highest."""
    return float(bar.profile[:, 1].max())


def tried_bar(plate: Plate, order: BarOrder) -> Bar:
    """Return the bar to be tried, its taper in proportion to that of the present one; raises InputError as `check_bar`."""
    present = present_bar(plate)
    taper = np.array([1.0, order.height_mm * MM / highest(present)])
    bar = replace(
        present,
        start=np.array(order.from_mm) * MM,
        end=np.array(order.to_mm) * MM,
        width=order.width_mm * MM,
        profile=present.profile * taper,
    )
    check_bar(bar, plate, "The bar")
    return bar


def try_bar(progress: Progress, order_text: str) -> BarComparison:
    """Return what becomes of the plate with another bar; raises InputError if that bar cannot be glued in."""
    order = BarOrder(**json.loads(order_text))
    progress.say("Reading the plate", 0.0)
    read = read_folder(read_description(Path(order.folder)))
    plate = read.plate
    bars = (present_bar(plate), tried_bar(plate, order))
    said = ("Solving with the bar as it is", "Solving with the other bar", "Following the shapes")
    progress.say("Solving without a bar", 0.1)
    solved = []
    for modes, words in zip(solve_bars(plate, bars), said, strict=True):
        solved.append(modes)
        progress.say(words, 0.1 + 0.28 * len(solved))
    sweep = compare_bars(plate, *bars, solved)
    if believed := beliefs_of(read):
        progress.say("Finding how sure the tones are", 0.97)
        sweep = fitted_comparison(sweep, believed)
    lines = tuple(
        tuple(node_lines(trial.modes, index) for index in range(len(trial.modes.hz)))
        for trial in sweep.trials
    )
    return BarComparison(sweep, lines)
