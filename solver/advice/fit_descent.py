"""The way to the wood that the log tells: down by whole steps, shorter ones where those overshoot, until it is at rest.

Every step leads to where the plates, answering to first order, fit the tones and the belief before best. The plates are
solved there; if they fit worse than where they came from, less of the way is tried (L. Armijo, Pacific J. Math. 16 (1966)
1; from memory); where none betters anything, the way ends: two tones lie so close there that they drive each other on.
After a few steps what was paired stays paired, so that the way comes to an end: a tone that still went to and fro then is
set aside as one of two.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from solver.advice.fit_evidence import Evidence, Told
from solver.advice.fit_states import Linearised, PlateState, linearised, tones_apart
from solver.advice.wood_prior import WoodPrior
from solver.core.arrays import Floats
from solver.plate.wood_posterior import PARAMETERS

MOST_STEPS = 30
FREE_STEPS = 4
"""Steps after which tones stay paired as they are."""
LONG_STEPS = 5
"""Steps after which one goes only half as far as to where the tones fit best: where close tones are weighed otherwise at
either end, whole steps can lead to and fro for ever, and the place of rest lies between."""
MOST_TRIES = 4
WORTH = 0.1
"""Of the misfit, minus twice the logarithm of the probability: a shorter step must bring so much to be taken, the first
that is tried may cost so much."""
_ENOUGH = 0.1
"""Share of the betterment promised to first order that a step must bring."""
_Q = len(PARAMETERS)


@dataclass(frozen=True, eq=False)
class Ground:
    """What a way goes over: the ``states`` of the plate, the belief before with its ``spread`` (q, q), what was measured.

    ``count`` tones are solved of each state.
    """

    states: Sequence[PlateState]
    prior: WoodPrior
    spread: Floats
    count: int
    evidence: Evidence

    def told(self, linear: Linearised) -> Told:
        """Return what is believed, tones paired anew."""
        return self.evidence.told(linear, self.spread, tones_apart(linear, self.states))

    def told_as_before(self, before: Told, linear: Linearised, aside: Sequence[int]) -> Told:
        """Return what is believed with tones paired as before, and those ``aside`` left out."""
        apart = tones_apart(linear, self.states)
        return self.evidence.told_as_before(before, linear, self.spread, apart, aside)

    def solved_at(self, theta: Floats, before: Linearised) -> Linearised:
        """Return the states solved at ``theta`` (q,)."""
        return linearised(self.states, self.prior, theta, self.count, before)

    def is_wood(self, theta: Floats) -> bool:
        """Tell whether there can be such a wood."""
        return self.states[0].at(self.prior, theta).wood.is_stable()


@dataclass(frozen=True, eq=False)
class Rest:
    """Where a way ended: the plates there and what is believed.

    ``is_at_rest`` if the next step would lead nowhere; ``is_straight`` if no step had to be shortened and every tone stayed
    with its mode.
    """

    linear: Linearised
    told: Told
    steps: int
    is_at_rest: bool
    is_straight: bool

    @property
    def theta(self) -> Floats:
        """The most probable parameters (q,)."""
        return self.told.after.mean[:_Q]


def way_down(ground: Ground, start: Linearised) -> Rest:
    """Return where the way from a ``start`` ends."""
    here = Rest(start, ground.told(start), 1, False, True)
    while not here.linear.is_at(here.theta):
        if here.steps >= MOST_STEPS:
            return here
        there, is_whole = _step(ground, here)
        if there is None:
            stays = here.told.held_at(here.linear, here.linear.points[-1])
            return replace(here, told=stays, is_at_rest=True, is_straight=False)
        told, is_settled = _told_there(ground, here, there)
        is_straight = here.is_straight and is_whole and is_settled
        here = Rest(there, told, here.steps + 1, False, is_straight)
    return replace(here, is_at_rest=True)


def _told_there(ground: Ground, here: Rest, there: Linearised) -> tuple[Told, bool]:
    """Return what is believed after a step, and whether every tone has stayed with its mode."""
    if here.steps > FREE_STEPS:
        return ground.told_as_before(here.told, there, ()), True
    told = ground.told(there)
    changed = _changed(here.told, told, there)
    if here.steps == FREE_STEPS and changed:
        return ground.told_as_before(here.told, there, changed), False
    return told, not changed


def _changed(before: Told, told: Told, there: Linearised) -> list[int]:
    """Return the tones that have another mode than before, or count where they did not."""
    places = there.followed
    was = [None if p.mode is None else int(places[p.mode]) for p in before.paired]
    return [
        t
        for t, pairing in enumerate(told.paired)
        if pairing.mode != was[t] or (t in told.used) != (t in before.used)
    ]


def _step(ground: Ground, here: Rest) -> tuple[Linearised | None, bool]:
    """Return the states solved one step on, and whether the step was a whole one; None where none is worth taking.

    The misfit falls as ``now - (now - promised) (2 s - s^2)`` over a share s of the step, to first order; a parabola with
    that slope through what it really is at the end of a step tells the next share.
    """
    told, origin, goal = here.told, here.linear.points[-1], here.theta
    stays = np.arange(len(here.linear.names))
    now, promised = (told.misfit(ground.spread, here.linear, stays, theta) for theta in (origin, goal))
    share = first = 1.0 if here.steps <= LONG_STEPS else 0.5
    for _ in range(MOST_TRIES):
        theta, slope = origin + share * (goal - origin), 2 * (now - promised)
        next_share = 0.5 * share
        if ground.is_wood(theta):
            there = ground.solved_at(theta, here.linear)
            then = told.misfit(ground.spread, there, there.followed, theta)
            least = -WORTH if share == first else WORTH
            if now - then >= max(_ENOUGH * share * (now - promised), least):
                return there, share == 1.0
            lowest = slope * share**2 / (2 * (then - now + slope * share))
            next_share = float(np.clip(lowest, 0.1 * share, 0.5 * share))
        share = next_share
    return None, False
