"""The misfit that a fit goes down, where everything answers straight: the normal law's own answer is its lowest place."""

from dataclasses import dataclass
from typing import cast

import numpy as np
import pytest

from solver.advice.fit_evidence import Told
from solver.advice.fit_states import Linearised
from solver.advice.joint_belief import Belief, Seen
from solver.core.arrays import Floats
from solver.plate.wood_posterior import PARAMETERS

Q, M = len(PARAMETERS), 6


@dataclass(frozen=True, eq=False)
class Straight:
    """Tones that answer to the parameters to first order however far one goes."""

    constant: Floats
    slopes: Floats


@pytest.fixture(scope="module")
def straight() -> Straight:
    noise = np.random.default_rng(3)
    return Straight(np.log(np.linspace(90, 400, M)), 0.4 * noise.normal(size=(M, Q)))


@pytest.fixture(scope="module")
def spread() -> Floats:
    """Of the parameters before; two of them are known, as the bar of a plate that has none."""
    return np.diag([*np.full(Q - 2, 0.15**2), 0.0, 0.0])


@pytest.fixture(scope="module")
def told(straight: Straight, spread: Floats) -> Told:
    """Four of six tones read, and a mass."""
    noise = np.random.default_rng(4)
    apart = 0.01**2 * (np.eye(M) + 0.5)
    to_all = np.vstack([np.eye(Q), straight.slopes])
    covariance = to_all @ spread @ to_all.T
    covariance[Q:, Q:] += apart
    before = Belief(np.concatenate([np.zeros(Q), straight.constant]), covariance)
    rows = np.zeros((5, Q + M))
    rows[0, 0] = 1.0
    rows[[1, 2, 3, 4], [Q, Q + 1, Q + 4, Q + 5]] = 1.0
    values = rows @ before.mean + 0.05 * noise.normal(size=5)
    seen = Seen(values, rows, 0.005**2 * np.eye(5))
    used = np.arange(4)
    return Told((), used, np.ones(4), (), seen, before, before.given(seen), 0.0, apart, 0.0)


def test_the_belief_after_lies_at_the_lowest_misfit(straight: Straight, spread: Floats, told: Told) -> None:
    linear, stays, noise = cast("Linearised", straight), np.arange(M), np.random.default_rng(5)
    rest = told.after.mean[:Q]
    lowest = told.misfit(spread, linear, stays, rest)
    for _ in range(50):
        step = 1e-3 * np.diag(spread > 0) * noise.normal(size=Q)
        assert told.misfit(spread, linear, stays, rest + step) > lowest


def test_held_where_it_lies_the_tones_expected_are_the_same(straight: Straight, told: Told) -> None:
    held = told.held_at(cast("Linearised", straight), told.after.mean[:Q])
    assert held.after.mean == pytest.approx(told.after.mean, rel=1e-9)


def test_held_elsewhere_the_tones_are_still_near_what_was_read(straight: Straight, told: Told) -> None:
    """Whatever the parameters miss, the offsets of the tones that were read make up for, and more of it than half."""
    held = told.held_at(cast("Linearised", straight), np.zeros(Q))
    read = told.seen.rows[1:, Q:]
    off = np.abs(told.seen.values[1:] - read @ held.after.mean[Q:])
    assert np.all(off < 0.5 * np.abs(told.seen.values[1:] - read @ straight.constant) + 1e-3)


def test_tones_that_have_changed_places_are_followed(straight: Straight, spread: Floats, told: Told) -> None:
    theta = told.after.mean[:Q]
    turned = np.array([0, 1, 2, 3, 5, 4])
    other = Straight(straight.constant[turned], straight.slopes[turned])
    here = told.misfit(spread, cast("Linearised", straight), np.arange(M), theta)
    assert told.misfit(spread, cast("Linearised", other), turned, theta) == pytest.approx(here)
