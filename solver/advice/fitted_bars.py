"""A sweep of bars on fitted wood: the tones expected with each bar, and how sure they are."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from threadpoolctl import threadpool_limits

from solver.advice.bar_trials import BarSweep, BarTrial, SureBars, mesh_of_bar, sure_trial
from solver.advice.fitted_tones import MASS, FittedBelief, FittedTones, corrected
from solver.advice.forecast import tone_keys
from solver.advice.tone_response import MeshedPlate
from solver.core.arrays import Floats
from solver.plate.plate import Plate


def fitted_sweep(sweep: BarSweep, belief_of: Callable[[Plate], FittedBelief]) -> BarSweep:
    """Return the sweep at the frequencies expected, with what is known of their intervals.

    These are found without a bar and at both ends of the range, and run straight in between; ``belief_of`` gives the
    belief for a plate of some bar.
    """
    trials = (sweep.bare, sweep.trials[0], sweep.trials[-1])
    tones = [_tones(sweep, trial, belief_of) for trial in trials]
    factors = np.array([[found.factors[name] for name in (*sweep.names, MASS)] for found in tones])
    spreads = np.array([_spreads(found, sweep.names) for found in tones])
    values = np.array([trial.value for trial in trials])
    sure = SureBars(values, (*sweep.names, MASS), factors, spreads)
    return replace(
        sweep,
        bare=sure_trial(sweep.bare, sure),
        trials=tuple(sure_trial(trial, sure) for trial in sweep.trials),
        sure=sure,
    )


def fitted_comparison(sweep: BarSweep, belief_of: Callable[[Plate], FittedBelief]) -> BarSweep:
    """Return the sweep at the frequencies expected, found for every trial by itself, whatever its bars differ in."""
    bare, *trials = (_expected(sweep, trial, belief_of) for trial in (sweep.bare, *sweep.trials))
    return replace(sweep, bare=bare, trials=tuple(trials))


def _expected(sweep: BarSweep, trial: BarTrial, belief_of: Callable[[Plate], FittedBelief]) -> BarTrial:
    tones = _tones(sweep, trial, belief_of)
    factors = {name: tones.factors[name] for name in (*sweep.names, MASS)}
    spreads = dict(zip((*sweep.names, MASS), _spreads(tones, sweep.names).tolist(), strict=True))
    return replace(trial, modes=corrected(trial.modes, factors), spreads=spreads)


def _tones(sweep: BarSweep, trial: BarTrial, belief_of: Callable[[Plate], FittedBelief]) -> FittedTones:
    """Return what is expected of one trial, whose tones bear the names that they have in the sweep."""
    plate = replace(sweep.plate, bar=trial.bar)
    on = MeshedPlate(plate, *mesh_of_bar(plate, trial.bar or sweep.trials[0].bar or sweep.base))
    assert np.array_equal(on.cubic.nodes, trial.modes.points[:, :2]), "the trial was solved on the same mesh"
    with threadpool_limits(1, user_api="blas"):
        model = on.model(plate)
    return belief_of(plate).tones(on, model, trial.modes)


def _spreads(tones: FittedTones, names: tuple[str, ...]) -> Floats:
    """Return the standard deviations (n + 1,) of tones by their names, and nought for the mass, which is not told."""
    keys = tone_keys(tones.response.modes)
    return np.array([*(tones.forecast.spread[keys.index(name)] for name in names), 0.0])
