"""The wood that a plate's own tones tell: its most probable constants, given the species and everything measured.

Maximum a posteriori in the logarithms of the constants: with deviations theta of all `PARAMETERS` from what was
believed before (a normal law with covariance C), tones ``ln f(theta) + e`` (e what the model misses each tone by,
covariance E) and their noise R, the least of

    theta^T C^-1 theta + e^T E^-1 e + (y - ln f(theta) - e)^T R^-1 (y - ln f(theta) - e)

is sought by Gauss and Newton's steps: every step solves all plates in full and takes their slopes anew, pairs the
tones with modes by what is then expected, and tempers a tone that the others do not bear out. The covariance at the
end is that of the normal law that touches there (A. Tarantola, Inverse Problem Theory, SIAM 2005, ch. 3).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from solver.advice.fit_evidence import Evidence, FitEntry, FittedMass, Told, gathered
from solver.advice.fit_states import (
    Linearised,
    PlateState,
    linearised,
    parameter_covariance,
    plate_states,
    tones_apart,
)
from solver.advice.pairing import Paired
from solver.advice.tone_response import ARCH, PARAMETERS, TONES, ToneResponse
from solver.advice.wood_posterior import WoodPosterior, tone_keys
from solver.advice.wood_prior import FITTED, WoodPrior
from solver.arrays import Floats, Ints, freeze
from solver.plate.climate import Condition

STEADY = 3e-3
"""Change of ``ln f`` by the last step below which the fit has come to rest: what a step leaves goes with its square."""
MOST_STEPS = 8
MOST_HALVES = 10
MORE_TONES = 2
"""Tones computed beyond as many as were heard: one may have been passed over."""
_ARCH = slice(len(FITTED), len(FITTED) + len(ARCH))
_FULL_AGAIN = 0.01
"""Change of ``ln f`` by the arch's form after which its slopes are taken anew."""
_Q = len(PARAMETERS)


@dataclass(frozen=True)
class FittedTone:
    """One tone of the log [Hz], and the mode that it has been taken for.

    ``shift`` of ``ln f`` to the reference climate; ``pairing`` gives modes by their place among all expected;
    ``is_used`` if it helped to find the wood, ``weight`` then 1, or less if it was tempered.
    """

    entry: str
    state: int
    number: str | None
    hz: float
    shift: float
    pairing: Paired
    is_used: bool
    weight: float


@dataclass(frozen=True)
class Drift:
    """By how much [-] the tones of an entry lie over what all other entries make of them, and its standard deviation."""

    entry: str
    miss: float
    spread: float


@dataclass(frozen=True, eq=False)
class WoodFit:
    """What a fit found.

    ``posterior`` is for the newest state, whose answer to everything is ``response``; ``before`` (q, q) the
    covariance of the `PARAMETERS` before; ``keys`` (m,) and
    ``states`` (m,) of all expected tones, ``fitted`` (m,) [Hz] what the model makes of them with the fitted
    parameters, ``expected`` (m,) [Hz] with what it is off by, ``spreads`` (m,) of their logarithms; ``askew`` (m,) of
    what grain and rings move each besides (see `askew_factors`). Tones are those of the reference climate.
    """

    posterior: WoodPosterior
    prior: WoodPrior
    response: ToneResponse
    before: Floats
    keys: tuple[str, ...]
    states: Ints
    fitted: Floats
    expected: Floats
    spreads: Floats
    askew: Floats
    tones: tuple[FittedTone, ...]
    masses: tuple[FittedMass, ...]
    drifts: tuple[Drift, ...]
    steps: int

    def __post_init__(self) -> None:
        m = len(self.keys)
        freeze(
            self,
            before=((_Q, _Q), float),
            states=((m,), int),
            fitted=((m,), float),
            expected=((m,), float),
            spreads=((m,), float),
            askew=((m,), float),
        )

    @property
    def told_by_data(self) -> Floats:
        """Share (q,) of the variance of each parameter that the data took away: 0 the prior's word, 1 the data's."""
        before = np.diag(self.before)
        return np.asarray(1 - self.posterior.spreads**2 / np.where(before > 0, before, 1.0))

    def residual(self, tone: FittedTone) -> float:
        """Return ``ln`` of a paired tone over what the model makes of its mode, in one climate."""
        assert tone.pairing.mode is not None, "asked for only where a tone is paired"
        return float(np.log(tone.hz / self.fitted[tone.pairing.mode]) + tone.shift)


def fit_wood(
    entries: Sequence[FitEntry], prior: WoodPrior, reference: Condition | None, size: float | None = None
) -> WoodFit:
    """Return the most probable wood by one or more ``entries``, oldest first, in the ``reference`` climate.

    ``size`` is that of the elements [m] (default: by need). Raises InputError if a plate has no sound mesh.
    """
    plates = {id(entry.plate): (entry.plate, entry.doubts) for entry in entries}
    states = plate_states(tuple(plates.values()), size)
    state_of = tuple(list(plates).index(id(entry.plate)) for entry in entries)
    spread = parameter_covariance(prior, [state.doubts for state in states])
    count = max(TONES, MORE_TONES + max(len(entry.numbered) + len(entry.heard) for entry in entries))
    linear = linearised(states, prior, np.zeros(_Q), count)
    evidence = gathered(entries, state_of, states, linear, reference)
    told, steps = evidence.told(linear, spread, tones_apart(linear, states)), 1
    while steps < MOST_STEPS and linear.moved(told.after.mean[:_Q]) > STEADY:
        theta = _possible(states[0], prior, linear.theta, told.after.mean[:_Q])
        linear = linearised(states, prior, theta, count, linear, linear.moved(theta, _ARCH) > _FULL_AGAIN)
        told, steps = evidence.told(linear, spread, tones_apart(linear, states)), steps + 1
    return _result(evidence, linear, told, prior, spread, steps)


def _possible(state: PlateState, prior: WoodPrior, here: Floats, there: Floats) -> Floats:
    """Return where a step leads (q,), or half-way and half of that, until such a wood can exist."""
    for _ in range(MOST_HALVES):
        if state.at(prior, there).wood.is_stable():
            return there
        there = 0.5 * (here + there)
    return here


def _result(
    evidence: Evidence, linear: Linearised, told: Told, prior: WoodPrior, spread: Floats, steps: int
) -> WoodFit:
    theta = told.after.mean[:_Q]
    keys = tuple(key for response in linear.responses for key in tone_keys(response.modes))
    return WoodFit(
        _posterior(linear, told, prior, evidence.states[-1]),
        prior,
        linear.responses[evidence.states[-1]],
        spread,
        keys,
        linear.states,
        np.exp(linear.constant + linear.slopes @ theta),
        np.exp(told.after.mean[_Q:]),
        np.sqrt(np.diag(told.after.covariance)[_Q:]),
        np.concatenate([response.askew for response in linear.responses]),
        _fitted_tones(evidence, linear, told),
        told.masses,
        _drifts(evidence, told),
        steps,
    )


def _posterior(linear: Linearised, told: Told, prior: WoodPrior, state: int) -> WoodPosterior:
    """The belief in parameters, and in what the tones of one state are off by: ``e = ln f - slopes theta - constant``."""
    here = np.flatnonzero(linear.states == state)
    rows = np.zeros((_Q + len(here), len(told.after.mean)))
    rows[:_Q, :_Q] = np.eye(_Q)
    rows[_Q:, :_Q] = -linear.slopes[here]
    rows[_Q + np.arange(len(here)), _Q + here] = 1.0
    law = told.after.part(rows, np.concatenate([np.zeros(_Q), -linear.constant[here]]))
    values = law.mean[:_Q].copy()
    values[: len(FITTED)] = [getattr(prior.wood, c) for c in FITTED] * np.exp(values[: len(FITTED)])
    keys = tone_keys(linear.responses[state].modes)
    return WoodPosterior(values, keys, law.mean[_Q:], law.covariance, told.uneven)


def _fitted_tones(evidence: Evidence, linear: Linearised, told: Told) -> tuple[FittedTone, ...]:
    weights = dict(zip(told.used.tolist(), told.weights.tolist(), strict=True))
    return tuple(
        FittedTone(
            evidence.entries[entry].name,
            evidence.states[entry],
            number,
            hz,
            evidence.shift_of(linear, t, pairing.mode),
            pairing,
            t in weights,
            weights.get(t, 0.0),
        )
        for t, ((entry, number, hz), pairing) in enumerate(zip(evidence.tones, told.paired, strict=True))
    )


def _drifts(evidence: Evidence, told: Told) -> tuple[Drift, ...]:
    """Hold the tones of each entry against what all the other measurements make of their mean."""
    first = len(told.seen.values) - len(told.used)
    owner = np.array([evidence.tones[t][0] for t in told.used], dtype=np.int64)
    out = []
    for i in np.unique(owner) if len(np.unique(owner)) > 1 else ():
        own = first + np.flatnonzero(owner == i)
        others = np.setdiff1d(np.arange(len(told.seen.values)), own)
        belief, mine = told.before.given(told.seen.some(others)), told.seen.some(own)
        mean = np.full(len(own), 1 / len(own))
        spread = float(np.sqrt(mean @ mine.surprise_covariance(belief) @ mean))
        out.append(Drift(evidence.entries[i].name, float(mean @ mine.surprise(belief)), spread))
    return tuple(out)
