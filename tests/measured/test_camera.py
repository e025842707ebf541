"""The camera's own derivatives, by which it is fitted, against differences."""

import numpy as np
import pytest

from solver.core.arrays import Floats
from solver.measured.camera import FREEDOMS, Camera, square_on
from solver.measured.camera_fit import best_camera

POINTS = np.random.default_rng(1).normal(0, 0.1, (12, 3))
"""Plate points [m]."""


@pytest.fixture
def camera() -> Camera:
    square = square_on(np.array([300.0, 200.0]), 0.7, 2000.0, True, 900.0, np.array([400.0, 300.0]))
    return square.moved(np.array([0.1, 0.2, -0.1, 0.02, 0.01, 0.1, 0.1, 0.01, 0.02]))


@pytest.mark.parametrize("freedom", range(FREEDOMS))
def test_rates_are_those_of_small_steps(camera: Camera, freedom: int) -> None:
    step = 1e-6 * np.eye(FREEDOMS)[freedom]
    difference = (camera.moved(step).pixels(POINTS) - camera.moved(-step).pixels(POINTS)) / 2e-6
    assert camera.rates(POINTS)[..., freedom] == pytest.approx(difference, rel=1e-5, abs=1e-4)


def test_a_camera_is_found_again_though_some_points_are_far_off(camera: Camera) -> None:
    seen = camera.pixels(POINTS)
    seen[:2] += 60.0

    def misses(moved: Camera) -> tuple[Floats, Floats]:
        return (moved.pixels(POINTS) - seen).ravel(), moved.rates(POINTS).reshape(-1, FREEDOMS)

    start = camera.moved(np.array([0.05, -0.04, 0.1, 0.01, 0.02, 0.03, 0.0, 0.0, 0.0]))
    found, _ = best_camera(start, misses, hold=1.0, loose=1.0, most=60)
    off = np.linalg.norm(found.pixels(POINTS) - seen, axis=1)
    assert off[2:].max() < 0.1
    assert off[:2].min() > 50
