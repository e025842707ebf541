"""The wood that a plate's own tones tell: its most probable constants, given the species and everything measured.

Maximum a posteriori in the logarithms of the constants: with deviations theta of all `PARAMETERS` from what was
believed before (a normal law with covariance C), tones ``ln f(theta) + e`` (e what the model misses each tone by,
covariance E) and their noise R, the least of

    theta^T C^-1 theta + e^T E^-1 e + (y - ln f(theta) - e)^T R^-1 (y - ln f(theta) - e)

is sought by Gauss and Newton's steps (`fit_descent`): every step solves the plates in full, pairs the tones with modes by
what is then expected, and tempers a tone that the others do not bear out. The newest state is brought to rest first, then
all of them together from there. Where the way was not straight, others are gone from either side, and the place at
which the tones are the most probable holds. The covariance at the end is that of the normal law that touches there
(A. Tarantola, Inverse Problem Theory, SIAM 2005, ch. 3).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from solver.advice.fit_descent import Ground, Rest, way_down
from solver.advice.fit_entry import FitEntry
from solver.advice.fit_evidence import Evidence, Told, gathered
from solver.advice.fit_states import (
    Linearised,
    PlateState,
    joined,
    linearised,
    parameter_covariance,
    plate_states,
)
from solver.advice.fitted_wood import Drift, FittedTone, Rival, WoodFit
from solver.advice.forecast import tone_keys
from solver.advice.tone_response import TONES
from solver.advice.wood_prior import WoodPrior
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.plate.climate import Condition
from solver.plate.wood_posterior import FITTED, PARAMETERS, WoodPosterior

MORE_TONES = 2
"""Tones computed beyond as many as were heard: one may have been passed over."""
NEARLY = np.log(20.0)
"""Of another wood, by how much less probable it may make the tones and still be named."""
ELSEWHERE = 0.01
"""Of ``ln f``: two woods by which no tone differs more are one."""
_Q = len(PARAMETERS)


@dataclass(frozen=True, eq=False)
class _Way:
    """A way that was gone: over which ground, and where it ended."""

    ground: Ground
    rest: Rest

    @cached_property
    def score(self) -> float:
        """The logarithm of how probable the tones are at its end, whichever mode each is."""
        return self.ground.told(self.rest.linear).score

    @cached_property
    def posterior(self) -> WoodPosterior:
        """The belief at its end, for the newest state."""
        return _posterior(self.rest.linear, self.rest.told, self.ground.prior, len(self.ground.states) - 1)

    @property
    def expected(self) -> Mapping[str, float]:
        """The newest state's tones [Hz] expected at its end, by their keys."""
        newest = self.rest.linear.states == len(self.ground.states) - 1
        expected = np.exp(self.rest.told.after.mean[_Q:][newest])
        return dict(zip(self.posterior.tones, expected.tolist(), strict=True))


@dataclass(frozen=True, eq=False)
class _Search:
    """All that a fit is to explain; ``state_of`` (n,) is the state of each entry, the newest the last of the ``states``."""

    entries: Sequence[FitEntry]
    states: tuple[PlateState, ...]
    state_of: tuple[int, ...]
    prior: WoodPrior
    reference: Condition | None

    @cached_property
    def count(self) -> int:
        """Tones to be solved of each state."""
        return max(TONES, MORE_TONES + max(len(entry.numbered) + len(entry.heard) for entry in self.entries))

    def ways_from(self, start: Floats) -> list[_Way]:
        """Return the way of all from a ``start`` (q,), and where it was not straight those from either side of its end.

        Two whose newest states came to rest in one place go on as one.
        """
        firsts = [self._first_way(start)]
        ways = [self._carried_on(firsts[0])]
        if ways[0].rest.is_at_rest and ways[0].rest.is_straight:
            return ways
        for place in self._either_side(ways[0]):
            first = self._first_way(place)
            if all(_apart(first.expected, one.expected) > ELSEWHERE for one in firsts if one.rest.is_at_rest):
                firsts.append(first)
                ways.append(self._carried_on(first))
        return ways

    def _first_way(self, start: Floats) -> _Way:
        """Return the way of the newest state alone."""
        newest = len(self.states) - 1
        own = [entry for entry, state in zip(self.entries, self.state_of, strict=True) if state == newest]
        linear = linearised(self.states[-1:], self.prior, start, self.count)
        return self._way(own, (0,) * len(own), self.states[-1:], linear)

    def _carried_on(self, way: _Way) -> _Way:
        """Return the way of all states from where that of the newest ended."""
        if len(self.states) == 1 or not way.rest.is_at_rest:
            return way
        linear = joined(self.states, self.prior, self.count, way.rest.linear)
        everything = self._way(self.entries, self.state_of, self.states, linear)
        is_straight = way.rest.is_straight and everything.rest.is_straight
        return replace(everything, rest=replace(everything.rest, is_straight=is_straight))

    def _way(
        self,
        entries: Sequence[FitEntry],
        state_of: tuple[int, ...],
        states: tuple[PlateState, ...],
        linear: Linearised,
    ) -> _Way:
        spread = parameter_covariance(self.prior, [state.doubts for state in states])
        evidence = gathered(entries, state_of, states, linear, self.reference)
        ground = Ground(states, self.prior, spread, self.count, evidence)
        return _Way(ground, way_down(ground, linear))

    def _either_side(self, way: _Way) -> tuple[Floats, Floats]:
        """Return two places (q,) from which to go again: where the two closest tones of the newest state lie one standard
        deviation of what was believed farther apart, and as much nearer or past each other."""
        response = way.rest.linear.responses[-1]
        low = int(np.argmin(np.diff(np.log(response.modes.hz))))
        parting = response.slopes[low + 1] - response.slopes[low]
        toward = way.ground.spread @ parting
        step = toward / np.sqrt(parting @ toward)
        return step, -step


def fit_wood(
    entries: Sequence[FitEntry],
    prior: WoodPrior,
    reference: Condition | None,
    size: float | None = None,
    start: Floats | None = None,
) -> WoodFit:
    """Return the most probable wood by one or more ``entries``, oldest first, in the ``reference`` climate.

    ``size`` is that of the elements [m] (default: by need); ``start`` (q,) the deviations from the ``prior`` at which the
    search begins (default: none). Raises InputError if a plate has no sound mesh, or the search comes to rest nowhere.
    """
    search = _Search(entries, *_states(entries, size), prior, reference)
    ways = search.ways_from(np.zeros(_Q) if start is None else start)
    ended = sorted((way for way in ways if way.rest.is_at_rest), key=lambda way: -way.score)
    if not ended:
        raise InputError(
            "log: the fit finds no wood at which it comes to rest, because tones lie so close that they change places; "
            "expected one that the tones agree on. Note the tones beside them too, and number each by its powder pattern."
        )
    return _result(ended[0], tuple(_rivals(ended)))


def _states(
    entries: Sequence[FitEntry], size: float | None
) -> tuple[tuple[PlateState, ...], tuple[int, ...]]:
    """Return the states, that of the newest entry last, and the state (n,) of each entry."""
    plates = {id(entry.plate): (entry.plate, entry.doubts) for entry in entries}
    newest = id(entries[-1].plate)
    order = [*(key for key in plates if key != newest), newest]
    states = plate_states(tuple(plates[key] for key in order), size)
    return states, tuple(order.index(id(entry.plate)) for entry in entries)


def _rivals(ways: Sequence[_Way]) -> Iterator[Rival]:
    """Yield the woods, the likeliest first, that are other than the best and nearly as probable."""
    known = [ways[0].expected]
    for way in ways[1:]:
        less = ways[0].score - way.score
        if less < NEARLY and all(_apart(way.expected, other) > ELSEWHERE for other in known):
            known.append(way.expected)
            yield Rival(way.posterior.values, way.expected, float(np.exp(less)))


def _apart(one: Mapping[str, float], other: Mapping[str, float]) -> float:
    """Return by how much ``ln f`` of tones in order of pitch differs at most."""
    low, high = (np.sort(np.array([*tones.values()])) for tones in (one, other))
    return float(np.abs(np.log(low / high)).max())


def _result(way: _Way, rivals: tuple[Rival, ...]) -> WoodFit:
    evidence, rest = way.ground.evidence, way.rest
    linear, told, theta = rest.linear, rest.told, rest.theta
    keys = tuple(key for response in linear.responses for key in tone_keys(response.modes))
    return WoodFit(
        way.posterior,
        way.ground.prior,
        linear.responses[-1],
        way.ground.spread,
        keys,
        linear.states,
        np.exp(linear.constant + linear.slopes @ theta),
        np.exp(told.after.mean[_Q:]),
        np.sqrt(np.diag(told.after.covariance)[_Q:]),
        np.concatenate([response.askew for response in linear.responses]),
        linear.parts,
        _fitted_tones(evidence, linear, told),
        told.masses,
        _drifts(evidence, told),
        rivals,
        tuple((entry.name, entry.remark) for entry in evidence.entries if entry.remark),
        rest.steps,
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
