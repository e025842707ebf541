"""The arch from heights: exact arches undistorted, noise smoothed, and the sentences for what is no arch."""

import re

import numpy as np
import pytest

from meshes.arch import Arch, arch_from_function, arch_from_heights, drawn_arch, flat_arch
from meshes.outline import edge_through, make_outline
from meshes.surface import KeptArch, SurfacePoints
from solver.core.arrays import Floats
from solver.core.errors import InputError
from tests.meshes.plates import (
    A,
    B,
    H,
    ellipse_height,
    ellipse_hessian,
    ellipse_outline,
    plan_grid,
    readings_of,
    violin_outline,
)

ELLIPSE = ellipse_outline()
VIOLIN = violin_outline()
FINE = plan_grid(ELLIPSE, 3e-3)
EDGE = ELLIPSE.edge.sampled(3e-3)
USUAL_CURVATURE = float(np.sqrt(np.mean(ellipse_hessian(FINE) ** 2)))
GREATEST_CURVATURE = float(np.abs(ellipse_hessian(EDGE)).max())


def read(points: Floats, noise: float = 0.0, seed: int = 0) -> Floats:
    shake = noise * np.random.default_rng(seed).standard_normal(len(points))
    return readings_of(points, ellipse_height(points) + shake)


def height_error(arch: Arch, points: Floats = FINE) -> float:
    return float(np.abs(arch.at(points).height - ellipse_height(points)).max())


def curvature_error(arch: Arch) -> float:
    """Root mean square over the plate, as a share of the usual curvature."""
    return float(np.sqrt(np.mean((arch.at(FINE).hessian - ellipse_hessian(FINE)) ** 2)) / USUAL_CURVATURE)


def test_flat_is_flat() -> None:
    surface = flat_arch().at(FINE)
    assert surface.height.shape == (len(FINE),)
    assert surface.gradient.shape == (len(FINE), 2)
    assert surface.hessian.shape == (len(FINE), 2, 2)
    assert not surface.height.any()
    assert not surface.hessian.any()


def test_a_formula_is_met_in_height_and_curvature() -> None:
    arch = arch_from_function(ellipse_height, (-A, -B, A, B))
    assert height_error(arch) < 1e-8
    assert curvature_error(arch) < 1e-3


@pytest.mark.parametrize(("step", "short"), [(5e-3, 0.0), (5e-3, 4e-3), (10e-3, 0.0)])
def test_exact_heights_on_a_grid_give_the_exact_arch_up_to_the_edge(step: float, short: float) -> None:
    """The readings end up to 10 mm short of the edge, where the arch must go on in the same way."""
    arch = arch_from_heights(read(plan_grid(ELLIPSE, step, short)), ELLIPSE)
    assert height_error(arch) < 1e-6
    assert curvature_error(arch) < 0.005
    assert np.abs(arch.at(EDGE).hessian - ellipse_hessian(EDGE)).max() < 0.005 * GREATEST_CURVATURE


def test_an_arch_that_is_no_polynomial_is_met_as_well() -> None:
    """A panel arched by cosines, read on a 10 mm grid that ends at its edge."""
    length, width, rise = 0.36, 0.20, 0.015
    corners = np.array([[0, 0], [length, 0], [length, width], [0, width]]) - [length / 2, width / 2]
    panel = make_outline(edge_through(corners, "outline", [0, 1, 2, 3]))

    def height(points: Floats) -> Floats:
        return np.asarray(rise * np.prod(np.cos(np.pi * points / [length, width]), axis=1))

    def across(points: Floats) -> Floats:
        return np.asarray(-((np.pi / width) ** 2) * height(points))

    points = plan_grid(panel, 0.01)
    arch = arch_from_heights(readings_of(points, height(points)), panel)
    fine = plan_grid(panel, 3e-3)
    greatest = rise * (np.pi / width) ** 2
    assert np.abs(arch.at(fine).height - height(fine)).max() < 20e-6
    assert np.abs(arch.at(fine).hessian[:, 1, 1] - across(fine)).max() < 0.05 * greatest
    assert np.sqrt(np.mean((arch.at(fine).hessian[:, 1, 1] - across(fine)) ** 2)) < 0.005 * greatest


def test_heights_over_the_whole_rectangle_serve_as_far_as_they_continue_the_arch() -> None:
    x, y = np.meshgrid(np.arange(-0.18, 0.181, 0.01), np.arange(-0.08, 0.081, 0.01))
    points = np.column_stack([x.ravel(), y.ravel()])
    whole = read(points)
    arch = arch_from_heights(whole, ELLIPSE)
    assert height_error(arch) < 1e-6
    assert curvature_error(arch) < 0.005
    bench = np.where(np.sum((points / [A, B]) ** 2, axis=1) > 1.01, -4e-3, whole[:, 2])
    on_a_bench = arch_from_heights(readings_of(points, bench), ELLIPSE)
    assert height_error(on_a_bench) < 0.1e-3


def test_the_curvature_of_a_violin_comes_out_with_the_square_of_the_spacing_or_faster() -> None:
    inner = plan_grid(VIOLIN, 3e-3, 12e-3)
    exact, errors = drawn_arch(VIOLIN, 15.5e-3, 9e-3), []
    for step in (0.02, 0.01, 0.005):
        points = plan_grid(VIOLIN, step)
        found = arch_from_heights(readings_of(points, exact.at(points).height), VIOLIN).at(inner).hessian
        errors.append(np.sqrt(np.mean((found - exact.at(inner).hessian) ** 2)))
    assert np.diff(np.log2(errors)).max() < -1.0
    assert errors[-1] / errors[0] < 1 / 10


@pytest.mark.parametrize("noise", [0.05e-3, 0.1e-3])
def test_noise_of_the_reading_does_not_become_curvature(noise: float) -> None:
    """Differences of raw heights 5 mm apart would be wrong by about 2.4 noise / step^2, many times the curvature."""
    arch = arch_from_heights(read(plan_grid(ELLIPSE, 5e-3), noise), ELLIPSE)
    raw = 2.4 * noise / 5e-3**2 / USUAL_CURVATURE
    assert curvature_error(arch) < min(0.1, raw / 8)
    rms = np.sqrt(np.mean((arch.at(FINE).height - ellipse_height(FINE)) ** 2))
    assert rms < 0.35 * noise


def test_scattered_heights_serve_as_well_as_a_grid() -> None:
    rng = np.random.default_rng(4)
    points = rng.uniform(-1, 1, (1800, 2))
    points = points[np.sum(points**2, axis=1) < 1] * [A, B]
    arch = arch_from_heights(read(points, 0.02e-3), ELLIPSE)
    assert curvature_error(arch) < 0.06


def test_turning_the_plate_about_turns_the_arch_with_it() -> None:
    """Readings mirrored across and along give the mirrored surface."""
    rows = read(plan_grid(ELLIPSE, 9e-3), 0.05e-3)
    rows[:, 2] += 0.02 * rows[:, 0] + 0.1 * rows[:, 0] * rows[:, 1]
    arch = arch_from_heights(rows, ELLIPSE)
    turned = arch_from_heights(rows * [-1, -1, 1], ELLIPSE)
    assert np.allclose(arch.at(FINE).height, turned.at(-FINE).height, atol=2e-6)


def test_the_datum_of_the_heights_does_not_matter() -> None:
    rows = read(plan_grid(ELLIPSE, 10e-3))
    raised = arch_from_heights(rows + np.array([0, 0, 0.03]), ELLIPSE).at(FINE)
    level = arch_from_heights(rows, ELLIPSE).at(FINE)
    assert np.allclose(raised.height - 0.03, level.height, atol=2e-6)
    assert np.abs(raised.hessian - level.hessian).max() < 0.05


def test_a_flat_plate_read_as_heights_stays_flat() -> None:
    arch = arch_from_heights(readings_of(FINE[::9], np.zeros(len(FINE[::9]))), ELLIPSE)
    assert np.abs(arch.at(FINE).hessian).max() < 1e-9


GOOD = read(plan_grid(ELLIPSE, 0.012))
ROW = 150
PLACE = re.escape(f"x = {GOOD[ROW, 0] * 1e3 + 0:.1f} mm, y = {GOOD[ROW, 1] * 1e3 + 0:.1f} mm")


def changed(height: float) -> Floats:
    rows = GOOD.copy()
    rows[ROW, 2] = height
    return rows


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (GOOD[:19], "there are 19 readings; expected at least 20"),
        (changed(np.nan), f"reading {ROW + 1} holds something that is no number"),
        (
            changed(0.1 * GOOD[ROW, 2]),
            rf"the height at {PLACE} is .*; expected about 5\.[1-3] mm from",
        ),
        (changed(10 * GOOD[ROW, 2]), f"the height at {PLACE}"),
        (changed(GOOD[ROW, 2] + 2.5e-3), f"the height at {PLACE} is"),
        (GOOD[GOOD[:, 0] < 0.08], r"no height was read within 10\d\.\d mm of x = 17\d\.\d mm"),
        (GOOD + np.array([0.2, 0, 0]), "readings lie outside the outline.*origin and the unit"),
        (GOOD * [1, 1, 1e-3], "If they are in metres, multiply them by 1000"),
        (GOOD * [1, 1, 10], "differ by 199 mm on a plate 356 mm long"),
        (np.vstack([GOOD, GOOD[ROW] + [0, 0, 0.6e-3]]), f"two readings at {PLACE}.*agree within 0.30 mm"),
        (read(np.column_stack([np.linspace(-0.17, 0.17, 40), np.zeros(40)])), "along one line"),
    ],
)
def test_what_is_no_arch_is_refused_by_place(rows: Floats, says: str) -> None:
    with pytest.raises(InputError, match=says):
        arch_from_heights(rows, ELLIPSE)


def test_heights_read_twice_are_averaged() -> None:
    again = GOOD + np.array([0, 0, 0.2e-3])
    arch = arch_from_heights(np.vstack([GOOD, again]), ELLIPSE)
    assert height_error(arch) == pytest.approx(0.1e-3, abs=0.08e-3)


def test_the_arch_is_as_high_as_it_was_read_and_meets_its_edge_level() -> None:
    """Height H in the middle, none at the edge, and level there."""
    arch = arch_from_heights(read(plan_grid(ELLIPSE, 8e-3)), ELLIPSE)
    assert arch.at(np.zeros((1, 2))).height[0] == pytest.approx(H, abs=5e-6)
    assert np.abs(arch.at(EDGE).gradient).max() < 0.01


def test_a_kept_arch_is_the_arch_and_asks_it_once() -> None:
    asked: list[int] = []

    class Counted:
        def at(self, points: Floats) -> SurfacePoints:
            asked.append(len(points))
            return drawn.at(points)

    drawn = arch_from_function(ellipse_height, ELLIPSE.bounds)
    kept = KeptArch(Counted())
    for points in (FINE, EDGE, FINE.copy(), EDGE):
        assert np.array_equal(kept.at(points).hessian, drawn.at(points).hessian)
    assert asked == [len(FINE), len(EDGE)]
