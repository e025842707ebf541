"""The smooth map against functions whose derivatives are known, and against finite differences."""

import numpy as np
import pytest

from meshes.knot_grid import differences, even_knots, knot_grid
from meshes.smooth_fit import Smoother
from meshes.smooth_map import SmoothMap, constant_map, map_of_function
from solver.core.arrays import Floats
from tests.meshes.plates import A, B, ellipse_height, ellipse_hessian

BOUNDS = (-A, -B, A, B)
RNG = np.random.default_rng(7)
POINTS = RNG.uniform(-1, 1, (500, 2)) * [0.98 * A, 0.98 * B]


def wavy(points: Floats) -> Floats:
    return np.asarray(0.01 * np.sin(points[:, 0] / 0.03) * np.cos(points[:, 1] / 0.02))


def any_map() -> SmoothMap:
    grid = knot_grid(BOUNDS, 0.011, 0.005)
    return grid.map(np.random.default_rng(3).standard_normal(grid.shape[0] * grid.shape[1]))


def test_gradient_and_hessian_are_the_differences_of_value_and_gradient() -> None:
    surface, step = any_map(), 1e-6
    for k, shift in enumerate(np.eye(2) * step):
        slope = (surface.value(POINTS + shift) - surface.value(POINTS - shift)) / (2 * step)
        assert np.allclose(surface.gradient(POINTS)[:, k], slope, rtol=1e-6, atol=1e-6)
        bend = (surface.gradient(POINTS + shift) - surface.gradient(POINTS - shift)) / (2 * step)
        assert np.allclose(surface.hessian(POINTS)[:, k], bend, rtol=1e-5, atol=1e-1)


def test_second_derivatives_do_not_jump_at_the_knots() -> None:
    surface, hair = any_map(), 1e-9
    at_knots = np.column_stack([surface.x_knots[6:20], np.full(14, 0.013)])
    shift = np.array([hair, 0])
    jump = surface.hessian(at_knots + shift) - surface.hessian(at_knots - shift)
    assert np.abs(jump).max() < 1e-5 * np.abs(surface.hessian(at_knots)).max()


def test_map_of_a_function_comes_to_it_with_the_fourth_power_of_the_step_and_its_curvature_with_the_second() -> (
    None
):
    errors = []
    for step in (8e-3, 4e-3, 2e-3):
        surface = map_of_function(ellipse_height, BOUNDS, step)
        value = np.abs(surface.value(POINTS) - ellipse_height(POINTS)).max()
        bend = np.abs(surface.hessian(POINTS) - ellipse_hessian(POINTS)).max()
        errors.append((value, bend))
    rates = -np.diff(np.log2(np.array(errors)), axis=0)
    assert rates[:, 0].min() > 3.7
    assert rates[:, 1].min() > 1.8


def test_constant_map_is_constant_even_far_outside() -> None:
    flat = constant_map(2.5e-3)
    assert np.allclose(flat.value(100 * POINTS), 2.5e-3, rtol=1e-12)
    assert np.abs(flat.gradient(POINTS)).max() < 1e-12


def test_even_knots_meet_both_ends() -> None:
    knots = even_knots(-0.1, 0.2, 0.007)
    assert knots[3] == pytest.approx(-0.1)
    assert knots[-4] == pytest.approx(0.2)
    assert np.ptp(np.diff(knots)) < 1e-12
    assert knots[1] - knots[0] <= 0.007


def test_differences_of_a_polynomial_vanish_above_its_degree() -> None:
    cubic = np.arange(12.0) ** 3
    assert np.abs(differences(12, 3) @ cubic - 6).max() < 1e-9
    assert np.abs(differences(12, 4) @ cubic).max() < 1e-9


@pytest.mark.parametrize("order", [2, 4])
def test_what_is_not_rough_is_fitted_exactly_whatever_the_smoothing(order: int) -> None:
    """Polynomials below the order have no differences, so the penalty must leave them alone."""
    points = RNG.uniform(-1, 1, (80, 2)) * [A, B]
    values = ((points / [A, B]) @ [1.0, -2.0]) ** (order - 1)
    grid = knot_grid(BOUNDS, 0.02, 0.0)
    smoother = Smoother(grid.design(points), grid.roughness(order), order * (order + 1) // 2, values, 1e-6)
    for smoothing in (-3.0, 3.0):
        fitted = grid.map(smoother.coefficients(smoothing)).value(points)
        assert np.abs(fitted - values).max() < 1e-5


def test_roughness_is_the_same_along_x_and_along_y() -> None:
    """A wave of one length is equally rough whichever way it runs, on knots that are farther apart along x."""
    grid = knot_grid((-0.1, -0.1, 0.1, 0.1), 0.002, 0.0)
    stretched = knot_grid((-0.1, -0.1, 0.1, 0.1), 0.002, 0.0)
    stretched = type(grid)(even_knots(-0.1, 0.1, 0.004), stretched.y)
    rough = []
    for k in range(2):
        wave = np.sin(stretched.centres[:, k] / 0.02)
        rough.append(wave @ (stretched.roughness(3) @ wave))
    assert rough[0] == pytest.approx(rough[1], rel=0.1)


def test_the_readings_choose_a_smoothing_that_takes_out_their_noise() -> None:
    """The error left is well under the noise put in, for weak and for strong noise."""
    points = RNG.uniform(-1, 1, (1500, 2)) * [A, B]
    grid = knot_grid(BOUNDS, 0.008, 0.005)
    for noise in (3e-5, 3e-4):
        values = wavy(points) + noise * RNG.standard_normal(len(points))
        smoother = Smoother(grid.design(points), grid.roughness(4), 10, values, 1e-6)
        fitted = grid.map(smoother.coefficients(smoother.best_smoothing))
        error = fitted.value(POINTS) - wavy(POINTS)
        assert np.sqrt(np.mean(error**2)) < 0.7 * noise
