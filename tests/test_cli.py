"""The command line as a maker and as another program use it."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from solver.cli import main
from solver.core.version import MADE_BY
from solver.modal.modes import solve_modes
from solver.modal.pitch import pitch
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_plate
from solver.stock import LIKE
from tests.command_answers import answer_of
from tests.plate_folders import ellipse_files, panel_files, replaced, write_folder

ROOT = Path(__file__).parent.parent


@pytest.fixture
def panel(tmp_path: Path) -> Path:
    return write_folder(tmp_path / "panel", panel_files())


@pytest.fixture
def ellipse(tmp_path: Path) -> Path:
    return write_folder(tmp_path / "ellipse", ellipse_files())


def test_json_is_one_object_with_the_agreed_keys(panel: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answered = json.loads(answer_of(capsys, "modes", str(panel), "--json", "--count", "3"))
    agreed = ["title", "role", "mass_g", "modes", "rigid_hz", "unknowns", "seconds"]
    assert list(answered)[: len(agreed)] == agreed
    assert (answered["title"], answered["role"]) == ("Blank", "panel")
    assert answered["mass_g"] == pytest.approx(300 * 120 * 3.0 * 400e-6, rel=1e-3)
    assert len(answered["rigid_hz"]) == 6
    assert max(answered["rigid_hz"]) < 0.1
    assert set(answered["seconds"]) == {"mesh", "assemble", "solve"}
    assert [list(tone)[:5] for tone in answered["modes"]] == [["order", "hz", "mode", "note", "cents"]] * 3
    assert [tone["order"] for tone in answered["modes"]] == [1, 2, 3]
    for tone in answered["modes"]:
        note, cents = pitch(tone["hz"])
        assert tone["note"] == note
        assert tone["cents"] == pytest.approx(cents, abs=0.1)


def test_version_is_said_and_stands_in_what_other_programs_read(
    panel: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = answer_of(capsys, "--version").strip()
    assert said == MADE_BY
    assert json.loads(answer_of(capsys, "modes", panel, "--json", "--count", "1"))["made_by"] == said


def test_every_object_for_other_programs_is_printed_in_one_place() -> None:
    """So that each says by which version it was made."""
    printing = {
        path.name
        for path in (ROOT / "solver" / "commands").glob("*.py")
        if "highlight=False" in path.read_text() and "json.dumps" in path.read_text()
    }
    assert printing == {"json_answer.py"}
    offered = [
        path
        for path in (ROOT / "solver" / "command_line").glob("*.py")
        if "AsJson = False" in path.read_text()
    ]
    asked = [
        path
        for path in (ROOT / "solver" / "commands").glob("*.py")
        if "import print_json" in path.read_text()
    ]
    assert {path.name for path in offered} == {path.name for path in asked}


def test_tones_of_a_blank_are_those_of_a_solid(panel: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A flat Sitka rectangle 360 x 200 x 3 mm, EL 10.8 GPa, 400 kg/m3, Handbook ratios.

    57.20 110.45 125.23 159.90 168.01 Hz: computed with 3-D solids, by at least two independent methods.
    """
    corners = "\n".join(f"{x},{y}\n{x},{y}" for x, y in ((0, -100), (360, -100), (360, 100), (0, 100)))
    (panel / "outline.csv").write_text(f"x_mm,y_mm\n{corners}\n")
    with (panel / "plate.toml").open("a") as file:
        file.write("EL_GPa = 10.8\n")
    answered = json.loads(answer_of(capsys, "modes", str(panel), "--json", "--count", "5"))
    tones = [tone["hz"] for tone in answered["modes"]]
    assert tones == pytest.approx([57.20, 110.45, 125.23, 159.90, 168.01], rel=0.007)


def test_table_says_what_the_solver_found(panel: Path, capsys: pytest.CaptureFixture[str]) -> None:
    printed = answer_of(capsys, "modes", str(panel), "--count", "4")
    assert printed.splitlines()[0] == "Blank - a test panel"
    modes = solve_modes(read_plate(panel), 4)
    for hz in modes.hz:
        note, cents = pitch(float(hz))
        assert f" {hz:.1f} " in printed
        assert f" {note} {cents:+.0f} " in printed


def test_without_is_the_plate_before(
    ellipse: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files = ellipse_files()
    replaced("plate.toml", 'holes = ["holes/left.csv", "holes/right.csv"]\n', "")(files)
    start, end = files["plate.toml"].index("[bar]"), files["plate.toml"].index("[climate]")
    files["plate.toml"] = files["plate.toml"][:start] + files["plate.toml"][end:]
    before = write_folder(tmp_path / "before", files)

    def tones(*arguments: str) -> list[float]:
        answered = json.loads(answer_of(capsys, "modes", *arguments, "--json", "--count", "2"))
        return [answered["mass_g"], *(tone["hz"] for tone in answered["modes"])]

    bare = tones(str(ellipse), "--without", "holes,bar")
    assert bare == pytest.approx(tones(str(before)), rel=1e-6)
    assert bare != pytest.approx(tones(str(ellipse), "--without", "bar"), rel=1e-3)


def test_check_says_what_was_understood(ellipse: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = " ".join(answer_of(capsys, "check", str(ellipse)).split())
    for said in (
        "Ellipse for trying things out - a top",
        "outline.csv: 356.0 mm long, 208.0 mm wide, 573.5 cm2 of wood",  # pi/4 * 356 * 208 less two slots of 402 mm2
        "left 4.0 cm2, right 4.0 cm2",
        "heights from arch.csv, 15.0 mm",
        "from (75, 17) mm to (285, 12) mm, 210.1 mm long, 5.5 mm wide, up to 12.0 mm high",
        "20 °C, 50 % humidity",
        "mode 2 at 165 Hz, mode 5 at 350 Hz, nowhere under 2.2 mm",
        "Sitka spruce, quarter-sawn, grain along the centre line",
        "as stated in plate.toml",
        "0.064 EL, Wood Handbook",
        "Log: 1 entry",
        "holes cut",
    ):
        assert said in words


def test_check_points_at_what_does_not_fit(ellipse: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = (ellipse / "plate.toml").read_text()
    (ellipse / "plate.toml").write_text(table.replace("min_thickness_mm = 2.2", "min_thickness_mm = 2.6"))
    words = " ".join(answer_of(capsys, "check", str(ellipse)).split())
    assert "thinner than the 2.6 mm wanted at least" in words
    assert "the log last says 55 g, but outline, thickness and density give" in words


def test_check_says_where_the_thickness_is_a_guess(ellipse: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = (ellipse / "thickness.csv").read_text().splitlines()
    kept = [line for line in lines[1:] if float(line.split(",")[0]) < 240]
    (ellipse / "thickness.csv").write_text("\n".join([lines[0], *kept]) + "\n")
    words = " ".join(answer_of(capsys, "check", str(ellipse)).split())
    assert "no reading lies near on " in words


@pytest.mark.parametrize("like", LIKE)
def test_every_stock_plate_can_be_had(like: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "plate"
    said = answer_of(capsys, "new", str(folder), "--like", like)
    assert f"platewright modes {folder}" in said.replace("\n", "")
    assert read_description(folder).table.role == like.rpartition("-")[2]
    assert like in " ".join(answer_of(capsys, "new", "--help").split())


def test_a_stock_plate_is_understood_without_doubts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answer_of(capsys, "new", str(tmp_path / "plate"), "--like", "violin-top")
    words = answer_of(capsys, "check", str(tmp_path / "plate"))
    assert "355.0 mm long" in words
    assert "Look at" not in words
    assert "Guessed" not in words


def test_another_length_takes_the_plate_with_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answer_of(capsys, "new", str(tmp_path / "plate"), "--like", "violin-back", "--length", "330")
    assert "330.0 mm long" in answer_of(capsys, "check", str(tmp_path / "plate"))


def test_a_new_plate_is_called_like_its_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "spring top"
    said = answer_of(capsys, "new", str(folder), "--like", "panel")
    assert f"platewright check '{folder}'\n" in said
    assert answer_of(capsys, "check", str(folder)).startswith("spring top - a test panel")


@pytest.mark.parametrize(
    "options",
    [
        ["check", "--picture", "p.xyz"],
        ["plan", "--picture", "p.xyz"],
        ["pattern", "photo.jpg", "--picture", "p.xyz"],
        ["tap", "--picture", "p.xyz"],
        ["sheet", "--plan", "--want", "5=high"],
    ],
    ids=lambda options: options[0],
)
def test_an_option_that_cannot_be_used_is_refused_before_anything_is_said(
    options: list[str], panel: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command, *rest = options
    assert main([command, str(panel), *rest]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert rest[-1] in err
    assert "expected" in err


@pytest.mark.parametrize("command", ["check", "modes", "new"])
def test_help_has_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    printed = " ".join(answer_of(capsys, command, "--help").split())
    assert f"Example: platewright {command} my-plate" in printed


def test_pictures_and_vtu_are_written(
    panel: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, vtu = tmp_path / "new" / "pictures", tmp_path / "shapes.vtu"
    answer_of(capsys, "modes", str(panel), "--count", "1", "--pictures", str(folder), "--vtu", str(vtu))
    assert {"graduation.png", "modes.png"} <= {path.name for path in folder.iterdir()}
    assert all(path.stat().st_size > 1000 for path in folder.iterdir())
    assert vtu.read_bytes().startswith(b"<?xml")


def test_check_draws_its_picture(panel: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answer_of(capsys, "check", str(panel), "--picture", str(tmp_path / "panel.svg"))
    assert "Blank" in (tmp_path / "panel.svg").read_text()


def test_the_program_as_a_process_keeps_json_clean(panel: Path) -> None:
    command = [sys.executable, "-m", "solver.cli", "modes", str(panel), "--json", "--count", "1"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    assert json.loads(done.stdout)["title"] == "Blank"
    assert done.stderr == ""


def test_a_reader_who_has_seen_enough_is_no_error(panel: Path) -> None:
    command = f"{sys.executable} -m solver.cli check {panel} | head -n 1; exit ${{PIPESTATUS[0]}}"
    done = subprocess.run(["bash", "-c", command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0
    assert done.stdout == "Blank - a test panel\n"
    assert done.stderr == ""


def test_a_command_that_is_stopped_ends_quietly(
    panel: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stop)
    before = sorted(tmp_path.rglob("*"))
    assert main(["modes", str(panel), "--count", "1", "--vtu", str(tmp_path / "shapes.vtu")]) == 130
    assert capsys.readouterr().err.strip() == ""
    assert sorted(tmp_path.rglob("*")) == before
