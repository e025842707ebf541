"""The trend of two figures: the line, and intervals that hold the truth as often as they say."""

import numpy as np
import pytest
from scipy import stats

from solver.advice.alike import likenesses
from solver.advice.trend import LEAST, is_turned, trend_of, two_clusters


def test_line_and_correlation_are_those_of_another_library() -> None:
    chance = np.random.default_rng(1)
    x = chance.normal(65, 4, 30)
    y = 3 * x + chance.normal(0, 12, 30)
    trend, other = trend_of(x, y), stats.linregress(x, y)
    assert trend is not None
    assert (trend.slope, trend.intercept, trend.r) == pytest.approx(
        (other.slope, other.intercept, other.rvalue)
    )
    half = stats.t.ppf(0.975, 28) * other.stderr
    assert (trend.slope_low, trend.slope_high) == pytest.approx((other.slope - half, other.slope + half))
    interval = stats.pearsonr(x, y).confidence_interval(0.95)
    assert (trend.r_low, trend.r_high) == pytest.approx((interval.low, interval.high))


def test_intervals_hold_the_truth_in_nineteen_of_twenty() -> None:
    chance, held, trials = np.random.default_rng(2), np.zeros(3), 2000
    true_r = 0.6
    for _ in range(trials):
        x = chance.normal(0, 1, 12)
        y = true_r * x + np.sqrt(1 - true_r**2) * chance.normal(0, 1, 12)
        trend = trend_of(x, y)
        assert trend is not None
        _, low, high = trend.line(np.array([1.0]))
        held += [
            trend.slope_low <= true_r <= trend.slope_high,
            trend.r_low <= true_r <= trend.r_high,
            low[0] <= true_r <= high[0],
        ]
    # of 2000 the share has a standard error of 0.5 %
    assert np.all(np.abs(held / trials - 0.95) < 0.02)


def test_of_plates_without_a_trend_few_are_told_to_have_one() -> None:
    chance = np.random.default_rng(3)
    trends = [trend_of(chance.normal(size=10), chance.normal(size=10)) for _ in range(1000)]
    share = np.mean([trend is not None and trend.is_told for trend in trends])
    assert 0.03 < share < 0.075


def test_three_plates_or_one_value_tell_nothing() -> None:
    assert trend_of(np.arange(LEAST - 1.0), np.arange(LEAST - 1.0)) is None
    assert trend_of(np.ones(9), np.arange(9.0)) is None


def test_a_perfect_line_is_no_fault() -> None:
    trend = trend_of(np.arange(5.0), 2 * np.arange(5.0))
    assert trend is not None
    assert trend.is_told
    assert (trend.slope, trend.r) == pytest.approx((2.0, 1.0))


def test_distance_counts_steps_and_needs_shared_figures() -> None:
    given = {"mode5": 350.0, "mass": 66.0, "thickness": 2.7}
    off = {name: value * np.exp(0.05) for name, value in given.items()}  # a step of mass and of thickness
    found = likenesses(given, [off, {"mass": 66.0}, dict(given)])
    assert [likeness.place for likeness in found] == [2, 0]
    assert found[1].steps == pytest.approx(np.sqrt(((0.05 / 0.03) ** 2 + 1 + 1) / 3))


def test_within_groups_the_slope_is_that_of_a_line_for_each() -> None:
    """Least squares with an intercept for each group, by numpy's own solver."""
    chance = np.random.default_rng(4)
    groups = ["violin"] * 12 + ["viola"] * 9
    x = chance.normal([65.0] * 12 + [95.0] * 9, 3.0)
    y = 2 * x + np.array([200.0] * 12 + [80.0] * 9) + chance.normal(0, 4, 21)
    design = np.column_stack([x, *(np.array(groups) == name for name in ("violin", "viola"))])
    slope = np.linalg.lstsq(design, y)[0][0]
    within, mixed = trend_of(x, y, groups), trend_of(x, y)
    assert within is not None
    assert mixed is not None
    assert within.slope == pytest.approx(slope)
    assert within.slope_low < 2.0 < within.slope_high
    assert mixed.slope < 0
    assert is_turned(mixed, within)


def test_intervals_within_groups_hold_the_truth_in_nineteen_of_twenty() -> None:
    chance, held, trials = np.random.default_rng(5), 0, 1500
    groups = ["a"] * 5 + ["b"] * 4 + ["c"] * 3
    means = np.array([0.0] * 5 + [5.0] * 4 + [9.0] * 3)
    for _ in range(trials):
        x = means + chance.normal(size=12)
        trend = trend_of(x, x - 3 * means + chance.normal(size=12), groups)
        assert trend is not None
        held += trend.slope_low <= 1.0 <= trend.slope_high
    assert held / trials == pytest.approx(0.95, abs=0.02)


def test_groups_of_one_plate_each_tell_nothing() -> None:
    assert trend_of(np.arange(6.0), np.arange(6.0), list("abcdef")) is None


def test_heaps_are_parted_at_a_wide_gap_alone() -> None:
    chance = np.random.default_rng(6)
    heap = chance.normal(0, 1, 10)
    assert two_clusters(heap) is None
    assert two_clusters(np.concatenate([heap, [30.0]])) is None
    assert two_clusters(np.concatenate([heap, 30 + heap])) == ("low",) * 10 + ("high",) * 10
