"""The band for any tone of a wood holds every tone of plates that were solved."""

from collections.abc import Callable
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from solver.advice.climate_bounds import tone_bounds
from solver.advice.climate_shift import weather_response
from solver.plate.climate import Climate, settled_in
from solver.plate_folder.read import read_plate
from tests.plate_folders import ellipse_files, panel_files, write_folder

ROOMS = [settled_in(Climate(t, h)) for t, h in ((20, 50), (20, 75), (12, 60), (30, 35), (5, 92))]


@pytest.mark.parametrize("files", [panel_files, pytest.param(ellipse_files, marks=pytest.mark.slow)])
def test_no_tone_leaves_the_band_and_the_band_is_no_barn_door(
    tmp_path: Path, files: Callable[[], dict[str, str]]
) -> None:
    plate = read_plate(write_folder(tmp_path / "plate", files()))
    response, bounds = weather_response(plate), tone_bounds(plate.wood)
    for start, end in product(ROOMS, ROOMS):
        solved = response.shift(start, end)
        low, high = bounds.shift(start, end)
        assert low <= solved[:, 0].min() + 1e-12
        assert solved[:, 1].max() <= high + 1e-12
        assert high - low <= 4 * max(np.ptp(solved), 1e-3)
