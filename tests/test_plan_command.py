"""``platewright plan`` as a maker and as another program use it."""

import json
from pathlib import Path

import pytest

from solver.cli import main
from solver.stock import write_stock_plate


@pytest.fixture(scope="module")
def back(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("plates") / "back"
    write_stock_plate(folder, "violin-back")
    return folder


def test_json_and_picture(back: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    picture = tmp_path / "plan.svg"
    assert main(["plan", str(back), "--want", "5=362", "--json", "--picture", str(picture)]) == 0
    plan = json.loads(capsys.readouterr().out)
    ring = next(mode for mode in plan["modes"] if mode["mode"] == "5")
    assert plan["reached"]
    assert plan["symmetric"]  # a back whose sides are alike
    assert ring["planned_hz"] == pytest.approx(362, rel=0.003)
    assert ring["planned_low_hz"] is None  # until the wood is fitted
    assert 0 < plan["max_removal_mm"] <= 0.6
    assert plan["min_thickness_mm"] >= 2.1
    assert plan["removed_g"] > 0
    assert len(plan["passes"]) == 2
    assert "depth to take in steps of 0.1 mm" in picture.read_text()


def test_a_tone_without_a_number_may_be_wished_for_by_its_place(
    back: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["modes", str(back), "--json"]) == 0
    tone = next(m for m in json.loads(capsys.readouterr().out)["modes"] if m["mode"] is None)
    wish = f"{tone['order']}th tone={0.995 * tone['hz']:.2f}"
    assert main(["plan", str(back), "--want", wish, "--json"]) == 0
    plan = json.loads(capsys.readouterr().out)
    planned = next(m for m in plan["modes"] if m["wanted_hz"])
    assert planned["mode"] == f"{tone['order']}th tone"
    assert planned["planned_hz"] == pytest.approx(0.995 * tone["hz"], rel=0.003)
    assert not plan["sure"]  # as long as the wood is not fitted


@pytest.mark.slow
def test_what_stops_it_is_said(back: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(back), "--want", "5=300", "--max-removal", "0.2"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "Not reached: at the nearest, mode 5 comes to" in told
    assert "weigh, tap, log, fit, plan again" in told


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--want", "5=3620"], "Check the digits and the decimal point"),
        (["--want", "14th tone=370"], "expected a tone from the 1st to the 10th"),
        (["--want", "6th tone=x"], "expected the number of a mode and its frequency"),
        (["--want", "5=34x"], "expected the number of a mode and its frequency"),
        (["--want", "9=300"], "no tone of this plate has the shape of mode 9"),
        (["--want", "5=-3"], "expected 5 to 5000"),
        (["--passes", "9"], "expected 2 to 6"),
        (["--keep", "77"], "expected one that was found"),
        (["--max-removal", "-1"], "expected more than 0"),
        (["--want", "5=350", "--min-thickness", "none.csv"], "none.csv"),
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_sentence(
    back: Path, arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", str(back), *arguments]) == 2
    printed = capsys.readouterr().err.strip()
    assert said in printed
    assert "\n" not in printed
