"""What ``modes``, ``shave``, ``plan`` and ``bar`` say once the wood was fitted: every tone with its interval."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.command_answers import answer_of
from tests.fitted_folders import OFF, SPREAD, fitted
from tests.plate_folders import ellipse_files, panel_files, write_folder


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return fitted(write_folder(tmp_path_factory.mktemp("fitted") / "board", panel_files()))


def answered(capsys: pytest.CaptureFixture[str], *arguments: str) -> Any:
    return json.loads(answer_of(capsys, *arguments, "--json"))


def test_tones_are_those_expected_and_have_intervals(board: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tones = answered(capsys, "modes", str(board), "--count", "6")["modes"]
    for tone in tones:
        assert tone["low_hz"] < tone["hz"] < tone["high_hz"]
    known, unknown = tones[:5], tones[5]
    for tone in known:
        assert tone["hz"] / tone["model_hz"] == pytest.approx(np.exp(OFF), rel=1e-4)
        # the constants move a tone by halves of their logarithms that add up to one half
        width = np.log(tone["high_hz"] / tone["low_hz"]) / (2 * 1.96)
        assert 0.4 * SPREAD < width < 0.8 * SPREAD
    assert unknown["hz"] == pytest.approx(unknown["model_hz"])
    said = answer_of(capsys, "modes", str(board), "--count", "3")
    assert "95 %" in said
    assert f"{tones[0]['low_hz']:.1f} to {tones[0]['high_hz']:.1f}" in said


def test_until_the_wood_is_fitted_nothing_has_an_interval(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_folder(tmp_path / "board", panel_files())
    tones = answered(capsys, "modes", str(folder), "--count", "3")["modes"]
    assert not any("low_hz" in tone for tone in tones)


@pytest.mark.slow
def test_the_change_by_a_shaving_is_far_surer_than_its_tones(
    board: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spot = ("--spot", "150,0,60,0.4", "--count", "4")
    tones = answered(capsys, "shave", str(board), *spot)["modes"]
    for tone in tones:
        assert tone["before_low_hz"] < tone["before_hz"] < tone["before_high_hz"]
        assert tone["after_low_hz"] < tone["after_hz"] < tone["after_high_hz"]
        assert tone["change_hz"] == pytest.approx(tone["after_hz"] - tone["before_hz"], abs=2e-3)
        assert tone["change_low_hz"] <= tone["change_hz"] <= tone["change_high_hz"]
        change, itself = (tone[f"{of}_high_hz"] - tone[f"{of}_low_hz"] for of in ("change", "before"))
        assert change < 0.1 * itself
        assert tone["live_hz"] == pytest.approx(tone["after_hz"], abs=0.5)


@pytest.mark.slow
def test_a_plan_aims_at_the_tones_expected(board: Path, capsys: pytest.CaptureFixture[str]) -> None:
    now = answered(capsys, "modes", str(board), "--count", "3")["modes"][0]
    wish = 0.97 * now["hz"]
    plan = answered(capsys, "plan", str(board), "--want", f"{now['mode']}={wish:.2f}")
    tone = next(mode for mode in plan["modes"] if mode["mode"] == now["mode"])
    assert plan["reached"]
    assert tone["now_hz"] == pytest.approx(now["hz"], rel=2e-3)
    assert tone["planned_hz"] == pytest.approx(wish, rel=0.003)
    assert tone["planned_low_hz"] < tone["planned_hz"] < tone["planned_high_hz"]
    assert plan["mass"]["planned_low_g"] < plan["mass"]["planned_g"] < plan["mass"]["planned_high_g"]


@pytest.mark.slow
def test_a_shaving_says_how_sure_its_change_is(board: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = " ".join(answer_of(capsys, "shave", str(board), "--spot", "150,0,60,0.4").split())
    assert "their change is surer, because what is not known moves both alike" in said
    assert "Change 95 %" in said


@pytest.mark.slow
def test_every_bar_of_a_sweep_has_intervals(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = ellipse_files()
    files["plate.toml"] = files["plate.toml"][: files["plate.toml"].index("[wanted]")]
    top = fitted(write_folder(tmp_path / "top", files))
    sweep = answered(capsys, "bar", str(top), "--height", "9..12", "--steps", "3", "--want", "2=170")
    for row in (sweep["without_bar"], *sweep["rows"], sweep["solution"]):
        named = [tone for tone in row["modes"] if tone["mode"]]
        assert named
        for tone in named:
            assert tone["low_hz"] < tone["hz"] < tone["high_hz"]
    assert "±" in answer_of(capsys, "bar", str(top), "--height", "9..12", "--steps", "2")


@pytest.mark.slow
def test_a_pair_of_fitted_wood_has_intervals(
    board: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two boards of one fitted wood, as top and back: their tones are expected alike, and open by the wood of either."""
    folders = []
    for role in ("top", "back"):
        files = {name: (board / name).read_text() for name in ("plate.toml", "outline.csv")}
        files["plate.toml"] = files["plate.toml"].replace('role = "panel"', f'role = "{role}"')
        folders.append(str(write_folder(tmp_path / role, files)))
    told = answered(capsys, "pair", *folders, "--relation", "1=same")
    for mode in told["modes"]:
        assert mode["cents"] == pytest.approx(0.0, abs=0.1)
        half = 0.5 * (mode["high_cents"] - mode["low_cents"])
        assert half == pytest.approx(mode["high_cents"], abs=0.1)
        assert 1200 / np.log(2) * 0.8 * SPREAD < half < 1200 / np.log(2) * 4 * SPREAD
    assert told["top"]["mass_g"] == pytest.approx(43.2, rel=0.01)
