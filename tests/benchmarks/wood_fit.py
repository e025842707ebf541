"""The fit of the wood against one that knows no derivatives, on the same problem in the same run.

    python -m tests.benchmarks.wood_fit [SOLVES]

On the stock violin top with three numbered tones, two without, and its mass. The other way lowers the same sum of squares
with the same full solves by COBYQA (T. M. Ragonneau, Hong Kong Polytechnic University, 2022), as scipy has it, until it is
as low or SOLVES (150) solves are spent; its pairing is given to it. Times are by the clock, on one BLAS thread; beside
other work the processor time tells more.
"""

import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

from solver.advice.fit_entry import FitEntry
from solver.advice.fit_states import PlateState, parameter_covariance
from solver.advice.fitted_wood import WoodFit
from solver.advice.tone_response import TONES, meshed
from solver.advice.wood_fit import fit_wood
from solver.advice.wood_prior import WoodPrior, wood_prior
from solver.core.arrays import Floats
from solver.modal.modes import modes_of
from solver.plate.plate_doubt import READING, SCALES, doubts_of
from solver.plate.wood_posterior import FITTED, PARAMETERS
from solver.plate_folder.read import read_plate
from solver.stock import write_stock_plate

NUMBERED, HEARD, MASS = {"1": 88.0, "2": 158.0, "5": 352.0}, (240.0, 300.0), 66.0e-3
AS_LOW = 0.5
"""By how much the other sum of squares may stay above ours and count as come to rest."""
FREE = 10
"""Parameters that a solve knows: wood and arch."""


class AsLowError(Exception):
    """The other way has come as low."""


@dataclass(eq=False)
class Sum:
    """The sum of squares of a fit, of parameters in their own standard deviations; counts its full solves."""

    entry: FitEntry
    prior: WoodPrior
    fit: WoodFit
    goal: float = -np.inf
    solves: int = 0
    least: float = field(default=np.inf)

    def __post_init__(self) -> None:
        self.state = PlateState(meshed(self.entry.plate), self.entry.doubts)
        covariance = parameter_covariance(self.prior, [self.entry.doubts])[:FREE, :FREE]
        self.root = np.linalg.cholesky(covariance)
        used = [tone for tone in self.fit.tones if tone.is_used]
        self.places = [tone.pairing.mode or 0 for tone in used]
        self.logs = np.log([tone.hz for tone in used])
        own = self.fit.response.own_covariance[np.ix_(self.places, self.places)]
        caliper = self.fit.before[PARAMETERS.index("caliper"), PARAMETERS.index("caliper")]
        slopes = self.fit.response.slopes[self.places, PARAMETERS.index("caliper")]
        self.weight = np.linalg.inv(own + caliper * np.outer(slopes, slopes) + READING**2 * np.eye(len(used)))

    def __call__(self, standard: Floats) -> float:
        theta = np.zeros(len(PARAMETERS))
        theta[:FREE] = self.root @ standard
        modes = modes_of(self.state.on.model(self.state.at(self.prior, theta)), TONES)
        self.solves += 1
        miss = self.logs - np.log(modes.hz[self.places])
        heavy = (np.log(MASS / modes.mass) / SCALES / 3) ** 2
        value = float(standard @ standard + miss @ self.weight @ miss + heavy)
        self.least = min(self.least, value)
        if value <= self.goal:
            raise AsLowError
        return value

    def at_fit(self) -> Floats:
        """Where the fit came to rest (10,), in standard deviations."""
        found = self.fit.posterior.values.copy()
        found[: len(FITTED)] = np.log(found[: len(FITTED)] / [getattr(self.prior.wood, c) for c in FITTED])
        return np.asarray(np.linalg.solve(self.root, found[:FREE]))


def main(arguments: Sequence[str]) -> None:
    most = int(arguments[0]) if arguments else 150
    with tempfile.TemporaryDirectory() as folder:
        write_stock_plate(Path(folder) / "top", "violin-top")
        plate = read_plate(Path(folder) / "top")
    entry = FitEntry("log", plate, doubts_of(plate, "drawn"), NUMBERED, HEARD, MASS, None)
    prior = wood_prior(plate.wood, True)
    begin, worked = time.perf_counter(), time.process_time()
    fit = fit_wood([entry], prior, None)
    ours, ours_worked = time.perf_counter() - begin, time.process_time() - worked
    total = Sum(entry, prior, fit)
    reached = total(total.at_fit())
    total.goal, total.solves, total.least = reached + AS_LOW, 0, np.inf
    begin, worked = time.perf_counter(), time.process_time()
    try:
        minimize(total, np.zeros(FREE), method="COBYQA", options={"maxfev": most})
        end = "gave up"
    except AsLowError:
        end = "came as low"
    other, other_worked = time.perf_counter() - begin, time.process_time() - worked
    print(
        f"fit: {ours:.1f} s ({ours_worked:.1f} s of the processor), {fit.steps} full solves, sum {reached:.2f}"
    )
    print(
        f"without derivatives: {other:.1f} s ({other_worked:.1f} s of the processor), {total.solves} full solves,"
    )
    print(f"  {end}, sum {total.least:.2f}")
    print(f"ratio {other / ours:.1f} by the clock, {other_worked / ours_worked:.1f} by the processor")


if __name__ == "__main__":
    main(sys.argv[1:])
