"""Node lines against shapes whose zeros are known."""

import numpy as np
import pytest

from solver.core.arrays import Floats, Ints
from solver.modal.modes import Modes
from solver.modal.node_lines import hold_and_tap, node_lines, zero_lines
from solver.plate.mode_label import NUMBERS


def _grid(n: int = 61, a: float = 0.18, b: float = 0.10) -> tuple[Floats, Ints]:
    x, y = np.meshgrid(np.linspace(-a, a, n), np.linspace(-b, b, n), indexing="ij")
    k = np.arange(n * n).reshape(n, n)
    low, high = (k[:-1, :-1], k[1:, :-1], k[1:, 1:]), (k[:-1, :-1], k[1:, 1:], k[:-1, 1:])
    triangles = np.vstack([np.column_stack([c.ravel() for c in corners]) for corners in (low, high)])
    return np.column_stack([x.ravel(), y.ravel()]), triangles


def _modes(*shapes: Floats) -> Modes:
    points, triangles = _grid()
    n = len(points)
    fields = np.zeros((len(shapes), n, 5))
    fields[:, :, 2] = shapes
    return Modes(
        hz=np.arange(1.0, len(shapes) + 1),
        names=(None,) * len(shapes),
        points=np.column_stack([points, np.zeros(n)]),
        normals=np.tile([0.0, 0.0, 1.0], (n, 1)),
        triangles=triangles,
        thickness=np.full(n, 0.003),
        fields=fields,
        rigid_hz=np.zeros(6),
        mass=0.1,
        seconds={},
        amplitudes=np.zeros((len(shapes), len(NUMBERS))),
    )


X, Y = _grid()[0].T


def test_ring_is_one_closed_line_on_its_circle() -> None:
    lines = zero_lines(*_grid(), X**2 + Y**2 - 0.06**2)
    assert len(lines) == 1
    assert np.array_equal(lines[0][0], lines[0][-1])
    assert np.linalg.norm(lines[0], axis=1) == pytest.approx(0.06, rel=2e-3)


def test_straight_line_is_open_and_exact() -> None:
    (line,) = zero_lines(*_grid(), X - 0.0123)
    assert line[:, 0] == pytest.approx(0.0123)
    assert np.ptp(line[:, 1]) == pytest.approx(0.20)


def test_lines_cover_the_whole_zero_of_a_twist() -> None:
    lines = node_lines(_modes((X - 0.0011) * (Y - 0.0013)), 0)
    length = sum(np.linalg.norm(np.diff(line, axis=0), axis=1).sum() for line in lines)
    assert length == pytest.approx(0.36 + 0.20, rel=0.02)


def test_hold_lies_on_a_node_line_and_tap_on_the_largest_motion() -> None:
    modes = _modes(X**2 / 0.18**2 - 0.3)
    places = hold_and_tap(modes, 0)
    assert np.abs(places.hold[:, 0]) == pytest.approx(0.18 * np.sqrt(0.3), rel=1e-3)
    assert np.linalg.norm(places.hold[0] - places.hold[1]) > 0.15
    assert 0.16 < abs(places.tap[0]) <= 0.174  # as near to the end as a knuckle should go


def test_a_shape_without_zero_has_nowhere_to_hold() -> None:
    assert hold_and_tap(_modes(1.0 + X), 0).hold.shape == (0, 2)
