"""Which bar brings a wanted tone: few full solves, guided by interpolation between those of a sweep."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator

from solver.advice.bar_trials import BarSweep, BarTrial, one_more
from solver.arrays import Floats, freeze

TOLERANCE = 0.0005
"""Share of a wanted frequency by which it may be missed: less than an ear tells, or a tap."""

_MOST_SOLVES = 6


@dataclass(frozen=True, eq=False)
class WantedBar:
    """The bar that brings mode ``name`` to ``wanted_hz``, or comes nearest; ``others`` (m,) [m] do it too, about."""

    name: str
    wanted_hz: float
    trial: BarTrial
    others: Floats

    def __post_init__(self) -> None:
        freeze(self, others=((None,), float))

    @property
    def miss_hz(self) -> float:
        """What is lacking [Hz], above nought where the tone is too low."""
        return self.wanted_hz - self.trial.hz(self.name)

    @property
    def reached(self) -> bool:
        """Tell whether the wanted frequency is met, within a twentieth of a per cent."""
        return abs(self.miss_hz) <= TOLERANCE * self.wanted_hz


def choose_bar(sweep: BarSweep, name: str, wanted_hz: float) -> WantedBar:
    """Return the bar with which a numbered mode has the wanted frequency; where several do, the one most like the present.

    The root of a shape-preserving cubic through the trials is solved in full and becomes one more trial, until the tone is
    met. If the wanted frequency lies between no two neighbours among the trials, the nearest of all is returned.
    """
    trials = list(sweep.trials)
    roots = _roots(trials, name, wanted_hz)
    if not len(roots):
        return WantedBar(name, wanted_hz, _nearest(trials, name, wanted_hz), roots)
    value = _closest(roots, sweep.present)
    others = roots[roots != value]
    for _ in range(_MOST_SOLVES):
        trials.append(one_more(sweep, value))
        found = WantedBar(name, wanted_hz, _nearest(trials, name, wanted_hz), others)
        if found.reached:
            break
        value = _closest(_roots(trials, name, wanted_hz), value)
    return found


def _roots(trials: Sequence[BarTrial], name: str, wanted_hz: float) -> Floats:
    """Return the values (m,) [m] at which the curve through the trials has the wanted frequency."""
    ordered = sorted(trials, key=lambda trial: trial.value)
    values = [trial.value for trial in ordered]
    excess = [trial.hz(name) - wanted_hz for trial in ordered]
    return np.unique(PchipInterpolator(values, excess).roots(extrapolate=False))


def _nearest(trials: Sequence[BarTrial], name: str, wanted_hz: float) -> BarTrial:
    return min(trials, key=lambda trial: abs(trial.hz(name) - wanted_hz))


def _closest(values: Floats, to: float) -> float:
    return float(values[np.abs(values - to).argmin()])
