"""The bench on fitted wood: the figures that the commands print, with their intervals."""

from pathlib import Path
from typing import cast

import numpy as np
import pytest

from meshes.removal import Hollow
from solver.bench.bar_work import BarOrder, highest, try_bar
from solver.bench.live import live_bench, trial_as_json
from solver.bench.picture import draw
from solver.bench.shown_tones import ShownTones
from solver.bench.solving import LivePlate, solve_plate
from solver.commands.bar_answer import bar_as_json
from solver.commands.tones import tones_as_json
from solver.core.units import MM
from solver.plate_folder.read import read_plate
from tests.bench.conftest import AnswerJson, BarRowJson, bar_rows, command_json
from tests.bench.handed_over import Kept
from tests.fitted_folders import fitted
from tests.plate_folders import ellipse_files, panel_files, write_folder

pytestmark = pytest.mark.xdist_group("fitted_work")  # one worker, so that what they share is made once


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return fitted(write_folder(tmp_path_factory.mktemp("fitted") / "board", panel_files()))


@pytest.fixture(scope="module")
def parts(board: Path) -> dict[str, object]:
    kept = Kept()
    solve_plate(kept, str(board))
    return kept.parts


def test_tones_are_those_of_the_command(
    board: Path, parts: dict[str, object], capsys: pytest.CaptureFixture[str]
) -> None:
    tones = parts["modes"]
    assert isinstance(tones, ShownTones)
    shown = tones_as_json(read_plate(board), tones.modes, (), tones.forecast)
    told = command_json(capsys, "modes", str(board), "--json")
    assert shown["mass_g"] == told["mass_g"]
    assert shown["modes"] == told["modes"]


@pytest.mark.slow
def test_a_hollow_is_answered_live_as_the_command_answers_it(
    board: Path, parts: dict[str, object], capsys: pytest.CaptureFixture[str]
) -> None:
    live, plate = parts["live"], read_plate(board)
    assert isinstance(live, LivePlate)
    bench = live_bench(plate, live, draw(plate))
    hollow = Hollow(np.array([150.0, 10.0]) * MM, 40 * MM, 0.3 * MM)
    shown = cast("AnswerJson", trial_as_json(bench, bench.after(bench.untouched(), hollow), None))
    told = command_json(capsys, "shave", str(board), "--spot", "150,10,40,0.3", "--json")
    assert shown["removed_g"] == pytest.approx(told["removed_g"], abs=2e-3)
    for mine, tone in zip(shown["modes"], told["modes"], strict=True):
        # to first order only: the command finds factors and widths of the thinned plate anew
        near = 0.02 * (tone["after_high_hz"] - tone["after_low_hz"]) + tone["live_doubt_hz"]
        assert mine["before_hz"] == pytest.approx(tone["before_hz"], abs=2e-3)
        assert mine["hz"] == pytest.approx(tone["live_hz"], rel=1e-4)
        assert mine["low_hz"] == pytest.approx(tone["after_low_hz"], abs=near)
        assert mine["high_hz"] == pytest.approx(tone["after_high_hz"], abs=near)


@pytest.mark.slow
def test_a_lower_bar_has_the_rows_of_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = ellipse_files()
    files["plate.toml"] = files["plate.toml"][: files["plate.toml"].index("[wanted]")]
    folder = fitted(write_folder(tmp_path / "top", files))
    bar = read_plate(folder).bar
    assert bar is not None
    high = highest(bar) / MM
    low = 0.8 * high
    told = bar_rows(capsys, str(folder), "--height", f"{low:g}..{high:g}", "--steps", "2", "--json")
    (x, y), (x_end, y_end) = (bar.start / MM).tolist(), (bar.end / MM).tolist()
    order = BarOrder(str(folder), (x, y), (x_end, y_end), bar.width / MM, low)
    present, lower = cast("list[BarRowJson]", bar_as_json(try_bar(Kept(), order.as_text).sweep, None)["rows"])
    for mine, row in ((lower, told[0]), (present, told[1])):
        assert mine["mass_g"] == row["mass_g"]
        for tone, its in zip(mine["modes"], row["modes"], strict=True):
            assert tone.keys() == its.keys()
            for figure in ("hz", "low_hz", "high_hz"):
                assert tone.get(figure) == pytest.approx(its.get(figure), abs=2e-3)
    assert any("low_hz" in tone for tone in lower["modes"])
