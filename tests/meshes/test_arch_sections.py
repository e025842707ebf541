"""The arch from templates, against one that is exactly of the form between which they are lofted."""

import numpy as np
import pytest

from meshes.arch import arch_from_sections, drawn_arch
from meshes.outline import Outline
from meshes.smooth_map import Function
from solver.core.arrays import Floats
from solver.core.errors import InputError
from tests.meshes.plates import (
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
USUAL_CURVATURE = float(np.sqrt(np.mean(ellipse_hessian(FINE) ** 2)))


def templates(
    outline: Outline, height: Function, stations: tuple[float, ...], step: float, short: float = 0.0
) -> Floats:
    """Points every ``step`` along the long arch and along cross arches at the stations, from edge to edge."""
    left, _, right, _ = outline.bounds
    x = np.linspace(left + short, right - short, round((right - left) / step))
    places = [np.column_stack([x, np.zeros(len(x))])]
    for station in stations:
        low, high = outline.spans(np.array([station]))[0]
        half = np.linspace(step, high - short, max(5, round(high / step)))
        y = np.concatenate([half, -half * low / -high])
        places.append(np.column_stack([np.full(len(y), station), y]))
    points = np.vstack(places)
    return readings_of(points, height(points))


STATIONS = (-0.1, 0.02, 0.11)
GOOD = templates(ELLIPSE, ellipse_height, STATIONS, 8e-3)


def test_an_arch_of_product_form_is_lofted_exactly() -> None:
    """H (1 - s)^2 on the ellipse is H (1 - (x/A)^2)^2 times (1 - u^2)^2 in half-widths u: the same at every x."""
    surface = arch_from_sections(GOOD, ELLIPSE).at(FINE)
    assert np.abs(surface.height - ellipse_height(FINE)).max() < 25e-6
    error = np.sqrt(np.mean((surface.hessian - ellipse_hessian(FINE)) ** 2))
    assert error < 0.02 * USUAL_CURVATURE


def test_templates_that_stop_short_of_the_edge_are_taken_on() -> None:
    short = templates(ELLIPSE, ellipse_height, STATIONS, 6e-3, short=3e-3)
    surface = arch_from_sections(short, ELLIPSE).at(FINE)
    assert np.abs(surface.height - ellipse_height(FINE)).max() < 30e-6


def test_a_template_of_one_side_is_mirrored() -> None:
    half = GOOD[GOOD[:, 1] >= 0]
    both = arch_from_sections(GOOD, ELLIPSE).at(FINE).height
    assert np.abs(arch_from_sections(half, ELLIPSE).at(FINE).height - both).max() < 5e-6


def test_the_datum_of_the_heights_does_not_matter() -> None:
    level = arch_from_sections(GOOD, ELLIPSE).at(FINE).height
    raised = arch_from_sections(GOOD + np.array([0, 0, 5e-3]), ELLIPSE).at(FINE).height
    assert np.abs(raised - 5e-3 - level).max() < 5e-6


def test_the_surface_passes_through_its_templates() -> None:
    exact = drawn_arch(VIOLIN, 15.5e-3, 9e-3)
    rows = templates(VIOLIN, lambda p: exact.at(p).height, (0.05, 0.075, 0.19, 0.25, 0.29), 8e-3)
    found = arch_from_sections(rows, VIOLIN).at(rows[:, :2]).height
    assert np.sqrt(np.mean((found - rows[:, 2]) ** 2)) < 0.15e-3
    assert np.abs(found - rows[:, 2]).max() < 0.6e-3


def test_a_violin_is_found_again_from_seven_templates() -> None:
    """Not to the last hair: nobody takes a template at the corners, where the width changes most."""
    exact = drawn_arch(VIOLIN, 15.5e-3, 9e-3)
    stations = (0.04, 0.075, 0.125, 0.19, 0.24, 0.29, 0.325)
    rows = templates(VIOLIN, lambda p: exact.at(p).height, stations, 6e-3)
    fine = plan_grid(VIOLIN, 4e-3)
    error = arch_from_sections(rows, VIOLIN).at(fine).height - exact.at(fine).height
    assert np.sqrt(np.mean(error**2)) < 0.25e-3
    assert np.abs(error).max() < 1.5e-3


def test_more_templates_follow_an_arch_whose_form_changes_along_the_plate() -> None:
    """A cross arch that grows pointed towards one end: the error falls as stations are added."""

    def changing(points: Floats) -> Floats:
        s = 1 - np.sum((points / np.array([0.178, 0.08])) ** 2, axis=1)
        ridge = 1 - (points[:, 0] / 0.178) ** 2
        return np.asarray(
            0.02 * s**2 * (1 + 0.3 * np.sin(points[:, 0] / 0.06) * (s / np.maximum(ridge, 1e-9) - 1))
        )

    inner = FINE[np.abs(FINE[:, 0]) < 0.13]
    errors = []
    for count in (3, 5, 9):
        rows = templates(ELLIPSE, changing, tuple(np.linspace(-0.13, 0.131, count)), 6e-3)
        found = arch_from_sections(rows, ELLIPSE).at(inner).height
        errors.append(np.sqrt(np.mean((found - changing(inner)) ** 2)))
    assert np.diff(errors).max() < 0
    assert errors[-1] < errors[0] / 8


def test_noise_of_the_templates_is_smoothed() -> None:
    noisy = GOOD.copy()
    noisy[:, 2] += 0.1e-3 * np.random.default_rng(1).standard_normal(len(noisy))
    found = arch_from_sections(noisy, ELLIPSE).at(FINE)
    assert np.sqrt(np.mean((found.height - ellipse_height(FINE)) ** 2)) < 0.12e-3
    error = np.sqrt(np.mean((found.hessian - ellipse_hessian(FINE)) ** 2))
    assert error < 0.25 * USUAL_CURVATURE


ON_AXIS = np.abs(GOOD[:, 1]) < 1e-6


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (GOOD[:15], "there are 15 readings; expected at least 20"),
        (GOOD[ON_AXIS | (GOOD[:, 0] < 0.1)], "there are 2 cross arches; expected 3 or more"),
        (GOOD[~ON_AXIS], "0 points lie on y = 0; expected the long arch there"),
        (
            GOOD[~ON_AXIS | (GOOD[:, 0] < 0.12)],
            r"the long arch stops 6\d mm short of the end .* x = 178.0 mm",
        ),
        (np.vstack([GOOD, [0.06, 0.03, 0.01]]), r"the point at x = 60.0 mm, y = 30.0 mm is on no section"),
        (GOOD[np.abs(GOOD[:, 1]) < 0.05], r"the cross arch at x = .* ends .* mm short of the edge"),
        (GOOD * [1, 1.5, 1], r"the cross arch at x = .* ends .* mm beyond the edge"),
        (GOOD + np.array([0.06, 0, 0]), r"the long arch stops 60 mm short of the end .* x = -178.0 mm"),
        (GOOD * [1, 1, 0], "the cross arch at x = .* rises less than 1 mm from edge to middle"),
        (
            np.vstack([GOOD, GOOD[60] + [0, 0, 2e-3]]),
            "two readings at .* expected them to agree within 0.30 mm",
        ),
    ],
)
def test_what_is_no_set_of_templates_is_refused(rows: Floats, says: str) -> None:
    with pytest.raises(InputError, match=f"arch sections: {says}"):
        arch_from_sections(rows, ELLIPSE)


def test_a_slip_of_the_pen_in_a_template_is_named() -> None:
    rows = GOOD.copy()
    wrong = int(np.flatnonzero(np.isclose(rows[:, 0], 0.02) & (rows[:, 1] > 0.02))[0])
    rows[wrong, 2] *= 0.1
    with pytest.raises(InputError, match=rf"the height at x = 20\.0 mm, y = {rows[wrong, 1] * 1e3:.1f} mm"):
        arch_from_sections(rows, ELLIPSE)
