"""The stock arch: its rise, its channel, its fairness, and that it is arched as violins are."""

import numpy as np
import pytest
import shapely

from meshes.arch import drawn_arch
from meshes.arch_drawn import cross_arch, long_arch
from meshes.fair_width import fair_width
from meshes.outline import Outline, edge_through, make_outline
from meshes.stock_outline import stock_outline
from solver.core.arrays import Floats
from solver.core.errors import InputError
from tests.meshes.plates import A, B, ellipse_outline, plan_grid, violin_outline

RISE, CHANNEL = 15.5e-3, 9e-3
VIOLIN = violin_outline()
ARCH = drawn_arch(VIOLIN, RISE, CHANNEL)
FINE = plan_grid(VIOLIN, 2e-3)
DEPTH = shapely.distance(VIOLIN.polygon.exterior, shapely.points(FINE))
LEFT, _, RIGHT, _ = VIOLIN.bounds


def centre_line(count: int = 2001) -> Floats:
    return np.column_stack([np.linspace(LEFT, RIGHT, count), np.zeros(count)])


def across(x: float, count: int = 801) -> Floats:
    low, high = VIOLIN.spans(np.array([x]))[0]
    return np.column_stack([np.full(count, x), np.linspace(low, high, count)])


def turns(values: Floats) -> int:
    """How often a row of values changes its sign, but for what is nearly nothing."""
    signs = np.sign(values[np.abs(values) > 0.02 * np.abs(values).max()])
    return int(np.sum(signs[1:] != signs[:-1]))


def test_the_highest_place_stands_at_the_rise_and_the_edge_at_nothing() -> None:
    height = ARCH.at(FINE).height
    assert height.max() == pytest.approx(RISE, rel=2e-3)
    assert height.min() > -1e-6
    edge = ARCH.at(VIOLIN.edge.sampled(2e-3))
    assert np.abs(edge.height).max() < 1e-6
    assert np.abs(edge.gradient).max() < 1e-6


def test_the_channel_is_flat_all_along_the_edge() -> None:
    """But for the last 3 mm, where the curvature of the arch begins."""
    assert ARCH.at(FINE[DEPTH < CHANNEL - 3e-3]).height.max() < 0.03e-3
    assert ARCH.at(FINE[DEPTH < CHANNEL]).height.max() < 0.2e-3


def test_a_wider_channel_makes_a_narrower_arch() -> None:
    wide = drawn_arch(VIOLIN, RISE, 15e-3).at(FINE).height
    assert np.all(wide <= ARCH.at(FINE).height + 0.25e-3)
    assert wide.mean() < 0.9 * ARCH.at(FINE).height.mean()


def test_a_symmetric_outline_gets_a_symmetric_arch() -> None:
    mirrored = ARCH.at(FINE * [1, -1])
    assert np.abs(mirrored.height - ARCH.at(FINE).height).max() < 0.02e-3


def test_the_long_arch_rises_once_stays_full_and_falls_once() -> None:
    """Half-way from the middle to the end it has lost less than a tenth: no parabola, and no dome."""
    height = ARCH.at(centre_line()).height
    assert turns(np.diff(height)) == 1
    quarter = ARCH.at(np.array([[LEFT + 0.25 * (RIGHT - LEFT), 0.0]])).height[0]
    assert 0.9 * RISE < quarter < RISE
    assert turns(ARCH.at(centre_line()).hessian[:, 0, 0]) == 2


@pytest.mark.parametrize("x_mm", [30, 72, 110, 137, 160, 192, 215, 232, 260, 290, 330])
def test_every_cross_arch_has_one_crest_and_one_inflection_on_either_side(x_mm: float) -> None:
    section = ARCH.at(across(1e-3 * x_mm))
    assert turns(np.diff(section.height)) == 1
    assert turns(section.hessian[:, 1, 1]) == 2


def test_the_arch_does_not_follow_the_corners() -> None:
    corners = VIOLIN.edge.knots[VIOLIN.edge.corners]
    around = np.vstack([FINE[np.linalg.norm(FINE - corner, axis=1) < 12e-3] for corner in corners])
    assert ARCH.at(around).height.max() < 0.6e-3


def test_no_bump_stands_anywhere_but_on_the_crest() -> None:
    """Uphill from any place on the plate leads to the one crest: no other local highest place on a fine grid."""
    x, y = np.meshgrid(np.arange(LEFT, RIGHT, 2e-3), np.arange(-0.103, 0.103, 2e-3), indexing="ij")
    points = np.column_stack([x.ravel(), y.ravel()])
    height = np.where(VIOLIN.contains(points), ARCH.at(points).height, 0).reshape(x.shape)
    around = np.stack([np.roll(height, shift, (0, 1)) for shift in _shifts()])
    crests = (height > 0.1e-3) & (height > around.max(axis=0))
    assert np.sum(crests) <= 2  # the middle may fall between two places
    assert np.all(height[crests] > 0.99 * RISE)


def _shifts() -> list[tuple[int, int]]:
    return [(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1) if (i, j) != (0, 0)]


def test_a_plate_twice_as_large_gets_the_same_arch_twice_as_large() -> None:
    edge = edge_through(2 * VIOLIN.edge.knots, "outline", VIOLIN.edge.corners)
    large = drawn_arch(make_outline(edge), 2 * RISE, 2 * CHANNEL)
    assert np.abs(large.at(2 * FINE).height - 2 * ARCH.at(FINE).height).max() < 0.02e-3


@pytest.mark.parametrize("outline", [ellipse_outline(), None])
def test_plates_without_a_waist_are_arched_too(outline: Outline | None) -> None:
    corners = np.array([[0, 0], [0.36, 0], [0.36, 0.2], [0, 0.2]])
    plate = outline or make_outline(edge_through(corners, "outline", [0, 1, 2, 3]))
    points = plan_grid(plate, 3e-3)
    height = drawn_arch(plate, 12e-3, 6e-3).at(points).height
    assert height.max() == pytest.approx(12e-3, rel=5e-3)
    assert np.abs(drawn_arch(plate, 12e-3, 6e-3).at(plate.edge.sampled(3e-3)).height).max() < 0.02e-3


def test_the_fair_width_of_an_ellipse_is_its_own() -> None:
    """The square of its half-width is a parabola, which the fair curve holds exactly."""
    width = fair_width(ellipse_outline(), 0.0)
    x = np.linspace(-0.9 * A, 0.9 * A, 50)
    exact = B * np.sqrt(1 - (x / A) ** 2)
    found = 1 / width.across(np.column_stack([x, np.ones(50)]))
    assert np.abs(found / exact - 1).max() < 1e-3


def test_the_sections_begin_and_end_level() -> None:
    hair = 1e-5
    for section, ends in ((long_arch, (0.0, 1.0)), (cross_arch, (-1.0, 1.0))):
        for end in ends:
            near = end - hair * np.sign(end - 0.5)
            assert section(np.array([end]))[0] == pytest.approx(0.0, abs=1e-12)
            assert abs(section(np.array([near]))[0]) < 1e-8
    assert long_arch(np.array([0.5]))[0] == pytest.approx(1.0)
    assert cross_arch(np.array([0.0]))[0] == pytest.approx(1.0)


def test_a_channel_that_leaves_no_plate_is_refused() -> None:
    with pytest.raises(InputError, match="a channel 60 mm wide along the edge leaves no plate to arch"):
        drawn_arch(VIOLIN, RISE, 60e-3)


@pytest.mark.parametrize(("length_mm", "channel_mm"), [(370.7, 8.1), (378.4, 7.3), (425.3, 9.7)])
def test_an_end_that_rounding_puts_past_itself_is_still_the_end(length_mm: float, channel_mm: float) -> None:
    """Where ``start + (end - start)`` is the next number above ``end``."""
    outline = stock_outline(length_mm * 1e-3, 0.58 * length_mm * 1e-3)
    height = drawn_arch(outline, RISE, channel_mm * 1e-3).at(np.array([[0.5 * length_mm * 1e-3, 0.0]])).height
    assert height == pytest.approx(RISE, rel=0.02)
