from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from solver.advice.bar_choice import TOLERANCE, choose_bar
from solver.advice.bar_dimension import DIMENSIONS
from solver.advice.bar_trials import BarSweep, bars_between, make_sweep, solve_bars
from solver.core.errors import InputError
from solver.modal.modes import solve_modes
from solver.plate.bar import Bar
from solver.plate.mass import bar_mass
from solver.plate.plate import Plate
from solver.plate_folder.read import read_plate
from solver.stock import write_stock_plate

HEIGHTS = np.array([0.009, 0.011, 0.013])


pytestmark = pytest.mark.xdist_group("bar_choice")  # one worker, so that what they share is made once


@pytest.fixture(scope="module")
def stock_top(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plate, Bar]:
    folder: Path = tmp_path_factory.mktemp("stock") / "top"
    write_stock_plate(folder, "violin-top")
    plate = read_plate(folder)
    assert plate.bar is not None
    return plate, plate.bar


@pytest.fixture(scope="module")
def sweep(stock_top: tuple[Plate, Bar]) -> BarSweep:
    plate, bar = stock_top
    bars = bars_between(plate, bar, DIMENSIONS["height"], HEIGHTS, "--height 9..13")
    return make_sweep(plate, bar, DIMENSIONS["height"], HEIGHTS, list(solve_bars(plate, bars)))


@pytest.mark.slow
def test_a_higher_bar_is_heavier_by_its_wood_and_raises_the_tones(sweep: BarSweep) -> None:
    """Mass by cells cut from the strip, which no mesh has a part in; that a bar raises modes 2 and 5 is common practice."""
    for trial in sweep.trials:
        added = trial.modes.mass - sweep.bare.modes.mass
        assert added == pytest.approx(bar_mass(replace(sweep.plate, bar=trial.bar)), rel=3e-3)
    for name in "2", "5":
        assert np.all(np.diff([sweep.bare.hz(name), *sweep.hz(name)]) > 0)
        assert all(trial.is_clear(name) for trial in sweep.trials)


@pytest.mark.slow
def test_the_chosen_bar_solved_anew_has_the_wanted_tone(sweep: BarSweep) -> None:
    wanted = 0.3 * sweep.hz("2")[0] + 0.7 * sweep.hz("2")[-1]
    chosen = choose_bar(sweep, "2", wanted)
    assert chosen.reached
    assert not len(chosen.others)
    assert HEIGHTS[0] < chosen.trial.value < HEIGHTS[-1]
    anew = solve_modes(replace(sweep.plate, bar=chosen.trial.bar))
    assert anew.hz[anew.names.index("2")] == pytest.approx(wanted, rel=0.003)
    assert chosen.trial.hz("2") == pytest.approx(wanted, rel=TOLERANCE)


@pytest.mark.slow
def test_a_bar_that_was_tried_and_meets_the_wish_is_not_solved_again(sweep: BarSweep) -> None:
    chosen = choose_bar(sweep, "2", sweep.hz("2")[1] * (1 + 0.5 * TOLERANCE))
    assert chosen.reached
    assert chosen.trial is sweep.trials[1]


@pytest.mark.slow
def test_a_tone_out_of_reach_is_said_to_be_so_with_the_nearest_bar(sweep: BarSweep) -> None:
    low, high = choose_bar(sweep, "5", 300.0), choose_bar(sweep, "5", 500.0)
    assert not low.reached
    assert not high.reached
    assert (low.trial.value, high.trial.value) == (HEIGHTS[0], HEIGHTS[-1])
    assert low.miss_hz == pytest.approx(300.0 - sweep.hz("5").min())
    assert high.miss_hz == pytest.approx(500.0 - sweep.hz("5").max())


@pytest.mark.parametrize(
    ("name", "values", "said"),
    [
        ("from_y", [0.018, 0.07], r'--x: at 70 mm the bar runs through the hole "bass"'),
        (
            "length",
            [0.25, 0.4],
            r"--x: at 400 mm the bar reaches over the edge of the plate near \(\d+, \d+\) mm",
        ),
        (
            "height",
            [0.01, 0.03],
            r"--x: at 30 mm the bar rises 1 mm in \d\.\d mm along its taper; .* Keep it at",
        ),
        ("length", [0.25, 0.008], r"--x: at 8 mm the bar runs from .* at least twice as long as wide"),
    ],
)
def test_a_bar_that_cannot_be_is_refused(
    name: str, values: list[float], said: str, stock_top: tuple[Plate, Bar]
) -> None:
    plate, bar = stock_top
    dimension = next(dimension for dimension in DIMENSIONS.values() if dimension.name == name)
    with pytest.raises(InputError, match=said):
        bars_between(plate, bar, dimension, np.array(values), "--x")
