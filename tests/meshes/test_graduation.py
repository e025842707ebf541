"""The promises of the graduation map, for readings of every kind, and the sentences for readings of no plate."""

import re

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import Delaunay, cKDTree

from meshes.graduation import (
    REPEATABILITY,
    Graduation,
    graduation_from_function,
    graduation_from_readings,
    uniform_graduation,
)
from solver.core.arrays import Floats
from solver.core.errors import InputError
from tests.meshes.plates import A, B, ellipse_outline, plan_grid, violin_outline

ELLIPSE = ellipse_outline()
VIOLIN = violin_outline()
FINE = plan_grid(ELLIPSE, 2e-3)
KNOT = 0.006
"""Greatest distance of the map's knots on a plate of this size [m]."""


def thickness(points: Floats) -> Floats:
    """2.5 mm at the edge of the ellipse, 3.5 mm in the middle."""
    return np.asarray(2.5e-3 + 1e-3 * (1 - np.sum((points / [A, B]) ** 2, axis=1)))


def rows(points: Floats, noise: float = 0.0, seed: int = 0) -> Floats:
    shake = noise * np.random.default_rng(seed).uniform(-1, 1, len(points))
    return np.column_stack([points, thickness(points) + shake])


def misses(graduation: Graduation) -> Floats:
    return np.asarray(np.abs(graduation.at(graduation.readings[:, :2]) - graduation.readings[:, 2]))


def overshoot(graduation: Graduation, points: Floats) -> float:
    """Greatest excess over the readings near: those around (nearest, or corners of the triangle), and their neighbours.

    What is nearest is not asked more exactly than to two knots, and all within three knots are near as well.
    """
    places, values = graduation.readings[:, :2], graduation.readings[:, 2]
    triangles, tree = Delaunay(places), cKDTree(places)
    first, joined = triangles.vertex_neighbor_vertices
    inside, nearest = triangles.find_simplex(points), np.asarray(tree.query(points)[0])
    worst = 0.0
    for i, (point, value) in enumerate(zip(points, graduation.at(points), strict=True)):
        around = tree.query_ball_point(point, nearest[i] + 2 * KNOT)
        around += list(triangles.simplices[inside[i]]) if inside[i] >= 0 else []
        near = [n for c in around for n in (c, *joined[first[c] : first[c + 1]])]
        range_near = values[near + tree.query_ball_point(point, 3 * KNOT)]
        worst = max(worst, value - range_near.max(), range_near.min() - value)
    return worst


def scattered(count: int, apart: float, seed: int) -> Floats:
    """Up to ``count`` random places on the ellipse, none nearer to another than ``apart`` [m]."""
    places = np.random.default_rng(seed).uniform(-1, 1, (40 * count, 2))
    places = places[np.sum(places**2, axis=1) < 0.98] * [A, B]
    free = np.ones(len(places), dtype=bool)
    for i, near in enumerate(cKDTree(places).query_ball_point(places, apart)):
        if free[i]:
            free[[n for n in near if n > i]] = False
    return np.asarray(places[free][:count])


def test_uniform_is_uniform_and_no_guess() -> None:
    graduation = uniform_graduation(2.6e-3)
    assert np.allclose(graduation.at(FINE), 2.6e-3, rtol=1e-12)
    assert not graduation.is_guess(FINE).any()
    assert graduation.readings.shape == (0, 3)


def test_a_formula_is_met_to_less_than_a_nanometre() -> None:
    graduation = graduation_from_function(thickness, (-A, -B, A, B))
    assert np.abs(graduation.at(FINE) - thickness(FINE)).max() < 1e-12
    slope = -2e-3 * FINE / np.array([A, B]) ** 2
    assert np.abs(graduation.gradient(FINE) - slope).max() < 1e-10


@settings(max_examples=15, deadline=None)
@given(
    count=st.integers(8, 60),
    seed=st.integers(0, 10_000),
    thin=st.floats(1.5e-3, 3e-3),
    spread=st.floats(0.0, 1.5e-3),
)
def test_whatever_is_read_the_map_passes_within_repeatability_and_never_overshoots(
    count: int, seed: int, thin: float, spread: float
) -> None:
    """Thicknesses that jump at random from place to place: far rougher than any plate."""
    places = scattered(count, 0.014, seed)
    values = thin + spread * np.random.default_rng(seed + 1).uniform(0, 1, len(places))
    graduation = graduation_from_readings(np.column_stack([places, values]), ELLIPSE)
    assert misses(graduation).max() <= REPEATABILITY
    assert overshoot(graduation, FINE[::7]) <= REPEATABILITY


@pytest.mark.parametrize("repeatability", [0.02e-3, 0.1e-3])
def test_another_caliper_has_its_own_repeatability(repeatability: float) -> None:
    readings = rows(scattered(150, 0.006, 2), noise=repeatability, seed=3)
    graduation = graduation_from_readings(readings, ELLIPSE, repeatability)
    assert misses(graduation).max() <= repeatability
    assert misses(graduation).max() > 0.5 * repeatability


def test_five_thousand_noisy_readings_are_smoothed_to_the_truth() -> None:
    rng = np.random.default_rng(5)
    points = rng.uniform(-1, 1, (9000, 2))
    points = points[np.sum(points**2, axis=1) < 1][:5000] * [A, B]
    readings = rows(points, noise=0.04e-3)
    graduation = graduation_from_readings(readings, ELLIPSE)
    assert misses(graduation).max() <= REPEATABILITY
    known = np.sum((FINE / [A, B]) ** 2, axis=1) < 0.9
    assert np.abs(graduation.at(FINE[known]) - thickness(FINE[known])).max() < 0.02e-3


def test_the_error_falls_with_the_spacing_of_exact_readings() -> None:
    """At least as the square of it: between readings a plate is about a parabola."""
    errors = []
    for step in (0.032, 0.016, 0.008):
        graduation = graduation_from_readings(rows(plan_grid(ELLIPSE, step)), ELLIPSE)
        middle = np.sum((FINE / [A, B]) ** 2, axis=1) < 0.6
        errors.append(np.sqrt(np.mean((graduation.at(FINE[middle]) - thickness(FINE[middle])) ** 2)))
    assert np.diff(np.log2(errors)).max() < -1.5
    assert errors[-1] < 1e-6


def test_it_is_a_guess_where_no_reading_lies_near() -> None:
    points = plan_grid(ELLIPSE, 0.012)
    graduation = graduation_from_readings(rows(points[points[:, 0] < 0.05]), ELLIPSE)
    far = np.array([[0.12, 0.0], [0.09, 0.03]])
    near = np.array([[0.0, 0.0], [0.05, 0.02], [-0.15, 0.01]])
    assert graduation.is_guess(far).all()
    assert not graduation.is_guess(near).any()
    assert graduation.reach == pytest.approx(0.018, abs=1e-6)
    assert np.ptp(graduation.at(far)) < 1e-3


def test_few_readings_leave_most_of_a_violin_to_guesswork() -> None:
    places = np.array([[x, y] for x in (0.05, 0.12, 0.24, 0.31) for y in (-0.04, 0.04)])
    graduation = graduation_from_readings(np.column_stack([places, np.full(8, 2.8e-3)]), VIOLIN)
    points = plan_grid(VIOLIN, 5e-3)
    assert 0.2 < graduation.is_guess(points).mean() < 0.8
    assert np.allclose(graduation.at(points), 2.8e-3, atol=1e-9)


def test_readings_of_one_place_are_their_mean() -> None:
    points = plan_grid(ELLIPSE, 0.02)
    once, again = rows(points), rows(points)
    again[:, 2] += 0.1e-3
    graduation = graduation_from_readings(np.vstack([once, again, again]), ELLIPSE)
    assert len(graduation.readings) == len(points)
    assert np.allclose(graduation.readings[:, 2], once[:, 2] + 0.2e-3 / 3)


def test_readings_a_millimetre_apart_in_a_row_are_not_run_together() -> None:
    line = np.column_stack([np.arange(0, 0.05, 0.0009), np.zeros(56)])
    graduation = graduation_from_readings(rows(np.vstack([plan_grid(ELLIPSE, 0.03), line])), ELLIPSE)
    assert len(graduation.readings) > 40
    assert misses(graduation).max() <= REPEATABILITY


def test_a_steep_step_from_edge_to_channel_is_followed_without_waves() -> None:
    """4.5 mm along the edge, 2.5 mm 12 mm further in, as where a back meets its edge."""
    points = plan_grid(VIOLIN, 0.008)
    depth = shapely.distance(VIOLIN.polygon.exterior, shapely.points(points))
    values = 2.5e-3 + 2e-3 * np.clip(1 - depth / 0.012, 0, 1) ** 2
    graduation = graduation_from_readings(np.column_stack([points, values]), VIOLIN)
    fine = graduation.at(plan_grid(VIOLIN, 2e-3))
    assert misses(graduation).max() <= REPEATABILITY
    assert fine.min() >= 2.5e-3 - REPEATABILITY
    assert fine.max() <= 4.5e-3 + REPEATABILITY


GOOD = rows(plan_grid(ELLIPSE, 0.02))


def with_value(value: float, row: int = 40) -> Floats:
    changed = GOOD.copy()
    changed[row, 2] = value
    return changed


PLACE = f"x = {GOOD[40, 0] * 1e3:.1f} mm, y = {GOOD[40, 1] * 1e3:.1f} mm"


@pytest.mark.parametrize(
    ("readings", "says"),
    [
        (GOOD[:7], "there are 7 readings; expected at least 8"),
        (np.repeat(GOOD[:2], 5, axis=0), "there are 2 readings"),
        (with_value(np.nan), "reading 41 holds something that is no number"),
        (with_value(0.0), re.escape(f"the reading at {PLACE} is 0 mm; expected 0.5 to 40")),
        (with_value(-2.5e-3), re.escape(f"the reading at {PLACE} is -2.5 mm; expected 0.5 to 40")),
        (with_value(25e-3), re.escape(f"the reading at {PLACE} is 25.00 mm, those around it")),
        (with_value(0.6e-3), re.escape(f"the reading at {PLACE} is 0.60 mm, those around it")),
        (with_value(9.2e-3), re.escape(f"the reading at {PLACE} is 9.20 mm, those around it")),
        (GOOD * [1, 1, 1 / 25.4], "looks like inches: multiply by 25.4"),
        (GOOD * [1, 1, 0.1], "looks like inches: multiply by 25.4, or like centimetres: multiply by 10"),
        (GOOD * [1, 1, 100], "looks like hundredths of a mm: multiply by 0.01"),
        (GOOD * [1, 1, 1000], "looks like micrometres: multiply by 0.001"),
        (GOOD * [1, 1, 1e-3], "looks like metres: multiply by 1000"),
        (GOOD + np.array([0.3, 0, 0]), "readings lie outside the outline.*origin and the unit"),
        (np.vstack([GOOD, [0.182, 0, 2.5e-3]]), "1 of .* farthest by 4.0 mm at x = 182.0 mm, y = 0.0 mm"),
        (
            np.vstack([GOOD, GOOD[40] + [0.5e-3, 0, 0.3e-3]]),
            "two readings at .* expected them to agree within 0.20",
        ),
        (rows(np.column_stack([np.linspace(-0.1, 0.1, 20), np.zeros(20)])), "along one line"),
    ],
)
def test_readings_of_no_plate_are_refused_by_place(readings: Floats, says: str) -> None:
    with pytest.raises(InputError, match=says):
        graduation_from_readings(readings, ELLIPSE)


def test_of_two_typos_both_come_to_light_one_after_the_other() -> None:
    readings = with_value(25e-3)
    readings[41, 2] = 22e-3
    with pytest.raises(InputError, match=r"25\.00 mm"):
        graduation_from_readings(readings, ELLIPSE)
    with pytest.raises(InputError, match=r"22\.00 mm"):
        graduation_from_readings(np.delete(readings, 40, axis=0), ELLIPSE)


def test_a_thick_blank_and_a_cello_back_are_plates_too() -> None:
    for factor in (1.9, 9.0):
        graduation = graduation_from_readings(GOOD * [1, 1, factor], ELLIPSE)
        assert misses(graduation).max() <= REPEATABILITY


def test_a_reading_on_the_edge_may_lie_a_little_outside() -> None:
    graduation = graduation_from_readings(np.vstack([GOOD, [0.180, 0, 2.48e-3]]), ELLIPSE)
    assert misses(graduation).max() <= REPEATABILITY


def test_one_reading_too_many_for_any_smooth_plate_is_named() -> None:
    """Nothing of it is impossible on its own, but no plate steps by a third within 1.2 mm."""
    readings = np.vstack([GOOD, GOOD[40] + [1.2e-3, 0, 0.95e-3]])
    with pytest.raises(InputError, match=r"mm off any smooth plate.*expected 0\.05 mm at most"):
        graduation_from_readings(readings, ELLIPSE)
