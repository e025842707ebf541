"""The normal law and what is seen of it, against least squares and against leaving out in earnest."""

import numpy as np
import pytest

from solver.advice.joint_belief import MOST_SURPRISE, Belief, Seen, in_common, side_by_side, tempered

RNG = np.random.default_rng(8)
ROOT = RNG.standard_normal((4, 4))
BELIEF = Belief(RNG.standard_normal(4), ROOT @ ROOT.T)
SEEN = Seen(RNG.standard_normal(6), RNG.standard_normal((6, 4)), np.diag(RNG.uniform(0.1, 0.5, 6)))


def test_conditions_are_least_squares_with_the_belief_as_one_more_measurement() -> None:
    weight = np.linalg.inv(BELIEF.covariance)
    normal = weight + SEEN.rows.T @ np.linalg.inv(SEEN.noise) @ SEEN.rows
    right = weight @ BELIEF.mean + SEEN.rows.T @ np.linalg.inv(SEEN.noise) @ SEEN.values
    after = BELIEF.given(SEEN)
    assert after.mean == pytest.approx(np.linalg.solve(normal, right))
    assert after.covariance == pytest.approx(np.linalg.inv(normal))


def test_one_after_the_other_or_all_at_once() -> None:
    two = BELIEF.given(SEEN.some(np.arange(2))).given(SEEN.some(np.arange(2, 6)))
    assert two.mean == pytest.approx(BELIEF.given(SEEN).mean)
    assert two.covariance == pytest.approx(BELIEF.given(SEEN).covariance)


def test_deleted_misses_are_those_of_the_others_alone() -> None:
    miss, spread = SEEN.deleted(BELIEF)
    for i in range(6):
        others = BELIEF.given(SEEN.some(np.setdiff1d(np.arange(6), [i])))
        alone = SEEN.some(np.array([i]))
        assert miss[i] == pytest.approx(alone.surprise(others)[0])
        assert spread[i] ** 2 == pytest.approx(alone.surprise_covariance(others)[0, 0])


def test_one_wrong_value_is_tempered_and_the_others_are_not() -> None:
    belief = Belief(np.zeros(1), np.eye(1))
    values = np.array([0.1, -0.1, 0.05, 3.0])
    seen = Seen(values, np.ones((4, 1)), 0.01 * np.eye(4))
    even = tempered(belief, seen, np.arange(4))
    assert np.diag(even.noise)[:3] == pytest.approx(0.01)
    miss, spread = even.deleted(belief)
    assert abs(miss[3]) / spread[3] == pytest.approx(MOST_SURPRISE)
    assert belief.given(even).mean[0] == pytest.approx(0.02, abs=0.05)
    assert belief.given(seen).mean[0] > 0.7


def test_factors_side_by_side_and_in_common() -> None:
    one, other = np.ones((2, 1)), 2 * np.ones((1, 2))
    apart, together = side_by_side([one, other]), in_common([one, other])
    assert (apart @ apart.T)[2, 0] == 0.0
    assert (together @ together.T)[2, 0] == 2.0
