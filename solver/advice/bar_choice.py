"""Which bar brings a wanted tone: few full solves, guided by interpolation between those of a sweep."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator

from solver.advice.bar_trials import BarSweep, BarTrial, one_more
from solver.core.arrays import Floats, freeze

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

    The root of a shape-preserving cubic through the trials is solved in full and becomes one more trial, until the trial
    next to the root meets the tone. If the wanted frequency lies between no two neighbours, the nearest of all is returned.
    """
    trials = list(sweep.trials)
    roots = _roots(trials, name, wanted_hz)
    if not len(roots):
        nearest = min(trials, key=lambda trial: abs(trial.hz(name) - wanted_hz))
        return WantedBar(name, wanted_hz, nearest, roots)
    value = _closest(roots, sweep.present)
    others = roots[roots != value]
    for _ in range(_MOST_SOLVES):
        found = WantedBar(name, wanted_hz, _trial_at(trials, value), others)
        if found.reached:
            return found
        trials.append(one_more(sweep, value))
        value = _closest(_roots(trials, name, wanted_hz), value)
    return WantedBar(name, wanted_hz, _trial_at(trials, value), others)


def _roots(trials: Sequence[BarTrial], name: str, wanted_hz: float) -> Floats:
    """Return the values (m,) [m] at which the curve through the trials has the wanted frequency."""
    ordered = sorted(trials, key=lambda trial: trial.value)
    values = [trial.value for trial in ordered]
    excess = [trial.hz(name) - wanted_hz for trial in ordered]
    return np.unique(PchipInterpolator(values, excess).roots(extrapolate=False))


def _trial_at(trials: Sequence[BarTrial], value: float) -> BarTrial:
    """Return the trial next to a value [m]."""
    return min(trials, key=lambda trial: abs(trial.value - value))


def _closest(values: Floats, to: float) -> float:
    return float(values[np.abs(values - to).argmin()])
