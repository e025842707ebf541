"""Hollows: their volume, their slope, and what is spared."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from meshes.graduation import graduation_from_function, uniform_graduation
from meshes.removal import Hollow, Sparing, Stroke, Together, thinned_graduation
from solver.core.arrays import Floats

HOLLOW = Hollow(np.array([0.02, -0.01]), 0.025, 0.4e-3)
WIDE = Hollow(np.array([0.03, 0.0]), 0.05, 0.1e-3)
STRIP = np.array([[0.0, -0.003], [0.04, -0.003], [0.04, 0.003], [0.0, 0.003]])
POINTS = np.random.default_rng(8).uniform(-0.02, 0.05, (60, 2))


def slope_by_differences(what: Hollow | Stroke | Together, points: Floats) -> Floats:
    step = 1e-7
    return np.column_stack(
        [(what.at(points + e) - what.at(points - e)) / (2 * step) for e in step * np.eye(2)]
    )


def test_volume_of_a_hollow() -> None:
    """Depth (1 - r^2)^2 over a disc holds a third of the cylinder: the integral of 2 r (1 - r^2)^2 from 0 to 1."""
    side = np.linspace(-HOLLOW.radius, HOLLOW.radius, 801)
    grid = np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2) + HOLLOW.centre
    summed = HOLLOW.at(grid).sum() * (side[1] - side[0]) ** 2
    assert HOLLOW.volume == pytest.approx(np.pi * HOLLOW.radius**2 * HOLLOW.depth / 3)
    assert summed == pytest.approx(HOLLOW.volume, rel=1e-5)


@given(st.floats(0.005, 0.1), st.floats(0.0, 1e-3), st.floats(-0.02, 0.05), st.floats(-0.02, 0.05))
def test_slope_is_the_derivative(radius: float, depth: float, x: float, y: float) -> None:
    both = Together((Hollow(np.array([x, y]), radius, depth), HOLLOW))
    assert both.gradient(POINTS) == pytest.approx(slope_by_differences(both, POINTS), abs=2e-6)


def test_sparing_leaves_the_strip() -> None:
    spared = Sparing(WIDE, STRIP)
    inside = (POINTS[:, 0] > 0) & (POINTS[:, 0] < 0.04) & (np.abs(POINTS[:, 1]) < 0.003)
    assert inside.any()
    assert not spared.at(POINTS)[inside].any()
    assert not spared.gradient(POINTS)[inside].any()
    assert spared.at(POINTS)[~inside] == pytest.approx(WIDE.at(POINTS)[~inside])


def test_thinning_twice_adds_up() -> None:
    before = graduation_from_function(lambda p: 3e-3 + 0.01 * p[:, 0], (-0.05, -0.05, 0.06, 0.06))
    twice = thinned_graduation(thinned_graduation(before, HOLLOW), WIDE)
    assert twice.at(POINTS) == pytest.approx(before.at(POINTS) - HOLLOW.at(POINTS) - WIDE.at(POINTS))
    slope = before.gradient(POINTS) - HOLLOW.gradient(POINTS) - WIDE.gradient(POINTS)
    assert twice.gradient(POINTS) == pytest.approx(slope)


def test_nothing_is_a_guess_where_all_is_given() -> None:
    assert not thinned_graduation(uniform_graduation(3e-3), HOLLOW).is_guess(POINTS).any()


BENT = Stroke(np.array([[-0.01, 0.0], [0.03, 0.01], [0.03, 0.04]]), 0.012, 0.3e-3)


def test_a_stroke_on_one_spot_is_a_hollow() -> None:
    spot = Stroke(HOLLOW.centre[None], HOLLOW.radius, HOLLOW.depth)
    assert spot.at(POINTS) == pytest.approx(HOLLOW.at(POINTS))
    assert spot.gradient(POINTS) == pytest.approx(HOLLOW.gradient(POINTS))


def test_a_straight_stroke_holds_a_channel_and_two_halves_of_a_hollow() -> None:
    """Across: the integral of (1 - r^2)^2 from -1 to 1 is 16/15; the ends together are one hollow."""
    run = Stroke(np.array([[0.0, 0.0], [0.03, 0.0]]), 0.01, 0.2e-3)
    x, y = np.linspace(-0.011, 0.041, 521), np.linspace(-0.011, 0.011, 221)
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    summed = run.at(grid).sum() * (x[1] - x[0]) * (y[1] - y[0])
    ends = Hollow(np.zeros(2), run.radius, run.depth).volume
    assert summed == pytest.approx(16 / 15 * run.radius * run.depth * 0.03 + ends, rel=1e-4)


def test_a_stroke_does_not_know_how_often_its_path_was_noted_or_passed() -> None:
    noted = np.vstack([BENT.path[0], 0.5 * (BENT.path[0] + BENT.path[1]), BENT.path[1:], BENT.path[1:2]])
    assert Stroke(noted, BENT.radius, BENT.depth).at(POINTS) == pytest.approx(BENT.at(POINTS))


def test_slope_of_a_stroke_is_the_derivative() -> None:
    assert BENT.gradient(POINTS) == pytest.approx(slope_by_differences(BENT, POINTS), abs=2e-6)
