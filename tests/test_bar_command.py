"""``platewright bar`` as a maker and as another program use it."""

import json
import re
from pathlib import Path

import pytest
from rich.status import Status

from solver.cli import main
from solver.modal.modes import solve_modes
from solver.plate_folder.read import read_plate
from solver.stock import usual_bar, write_stock_plate
from tests.command_answers import answer_of
from tests.plate_folders import contents, ellipse_files, panel_files, write_folder


@pytest.mark.slow
def test_json_holds_rows_solution_and_pictures_beside(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, pictures = write_folder(tmp_path / "ellipse", ellipse_files()), tmp_path / "pictures"
    base = ("bar", str(folder), "--height", "9..12", "--steps", "2", "--json", "--pictures", str(pictures))
    answered = json.loads(answer_of(capsys, *base, "--want", "1=400"))
    assert answered["varied"] == "height_mm"
    assert [row["height_mm"] for row in answered["rows"]] == [9.0, 12.0]
    assert answered["without_bar"]["height_mm"] is None
    # 12 mm is the folder's own bar, which `modes` solves on its own
    alone = solve_modes(read_plate(folder))
    last = answered["rows"][-1]
    assert [tone["hz"] for tone in last["modes"]] == pytest.approx(alone.hz.tolist(), rel=1e-4)
    assert last["mass_g"] == pytest.approx(1e3 * alone.mass, abs=0.02)
    assert {"order", "hz", "mode", "note", "cents"} <= set(last["modes"][0])
    solution = answered["solution"]
    assert solution["wanted"] == {"mode": "1", "hz": 400.0}
    assert solution["reached"] is False
    assert solution["height_mm"] == 12.0
    assert sorted(path.name for path in pictures.iterdir()) == ["bar-node-lines.png", "bar.png"]


def test_a_plate_without_a_bar_gets_the_usual_one_and_is_told_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "top"
    write_stock_plate(folder, "violin-top", 356)
    text = (folder / "plate.toml").read_text()
    own = read_plate(folder)
    (folder / "plate.toml").write_text(
        text[: text.index("[bar]")] + text[text.index("[climate]") :], encoding="utf-8"
    )
    assert own.bar is not None
    usual = usual_bar(own.outline, own.wood)
    assert usual.footprint == pytest.approx(own.bar.footprint, abs=1e-4)
    assert usual.profile == pytest.approx(own.bar.profile, abs=1e-4)
    words = " ".join(answer_of(capsys, "bar", str(folder), "--shift", "-2..2", "--steps", "2").split())
    assert "plate.toml describes no bar; taken is the usual one" in words
    assert "no bar" in words
    assert "-2.00" in words
    assert "In the ring: shares of the bass side" in words


TOP, PANEL = "{top}", "{panel}"
REFUSED: dict[str, tuple[list[str], str]] = {
    "no range": ([TOP], r"no range was given; expected LOW\.\.HIGH for exactly one of --from"),
    "single values only": ([TOP, "--height", "11"], r"no range was given"),
    "two ranges": ([TOP, "--height", "9..13", "--width", "5..6"], r"--height 9\.\.13 and --width 5\.\.6 are"),
    "two ranges in one": ([TOP, "--from", "70..80,12..17"], r"are ranges"),
    "range with a dash": ([TOP, "--height", "9-13"], r"--height: '9-13'; .* for instance --height 9\.\.13"),
    "range backwards": ([TOP, "--height", "13..9"], r"Write the smaller value first"),
    "decimal comma": ([TOP, "--width", "5,5"], r"in mm, with a decimal point"),
    "half a place": ([TOP, "--from", "75", "--height", "9..13"], r"--from: '75'; expected a point x,y in mm"),
    "no number": ([TOP, "--height", "nan"], r"--height: 'nan'; expected a number"),
    "no height": ([TOP, "--height", "0..9"], r"expected more than 0 mm"),
    "width in inches": ([TOP, "--width", "0.2..0.25"], r"--width is 0\.2; .* inches, write 5\.08"),
    "length twice": ([TOP, "--length", "200..210", "--to", "285,12"], r"the length or the ends"),
    "one bar": ([TOP, "--height", "9..13", "--steps", "1"], r"--steps: 1 bars; expected 2 to 41"),
    "wish by name": ([TOP, "--height", "9..13", "--want", "ring=350"], r"the trade's number of the mode"),
    "wish without =": ([TOP, "--height", "9..13", "--want", "350"], r"Write for instance --want 5=346"),
    "wish in kHz": ([TOP, "--height", "9..13", "--want", "5=0.35"], r"If that was kHz, write 350"),
    "unknown wood": ([TOP, "--height", "9..13", "--wood", "Sitka spurce"], r"Did you mean Sitka spruce"),
    "through a hole": ([TOP, "--to", "285,12..72"], r'--to 285,12\.\.72: at .* through the hole "left"'),
    "over the edge": ([TOP, "--length", "200..400"], r"the bar reaches over the edge of the plate near"),
    "too steep": ([TOP, "--height", "9..40"], r"Keep it at \d+\.\d mm or lower, or make it longer"),
    "a panel without a bar": ([PANEL, "--height", "9..13"], r"a panel gets none by custom; .* table \[bar\]"),
    "a folder that is none": (["{nowhere}", "--height", "9..13"], r"there is no such folder"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_is_refused_in_one_sentence_and_nothing_is_written(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    top, panel = write_folder(tmp_path / "top", ellipse_files()), write_folder(tmp_path / "p", panel_files())
    arguments, said = REFUSED[case]
    places = {"top": str(top), "panel": str(panel), "nowhere": str(tmp_path / "nowhere")}
    before = contents(tmp_path)
    filled = [part.format(**places) for part in arguments]
    assert main(["bar", *filled, "--pictures", str(tmp_path / "pictures")]) == 2
    sentence = capsys.readouterr().err
    assert sentence.count("\n") == 1
    assert re.search(said, sentence), sentence
    assert contents(tmp_path) == before


@pytest.mark.slow
def test_a_wish_for_a_mode_that_the_plate_lacks_is_refused_before_any_bar_is_tried(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    tried: list[str] = []
    monkeypatch.setattr(Status, "update", lambda _, words: tried.append(words))
    top = write_folder(tmp_path / "top", ellipse_files())
    assert main(["bar", str(top), "--height", "9..12", "--steps", "2", "--want", "7=400"]) == 2
    assert re.search(r"no tone of this plate has the shape of mode 7; .*: 1, 2", capsys.readouterr().err)
    assert tried == ["Solving without a bar"]
