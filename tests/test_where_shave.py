"""``platewright where`` and ``platewright shave`` as a maker and as another program use them."""

import json
import re
from pathlib import Path

import pytest

from solver.cli import main
from solver.modal.modes import solve_modes
from solver.plate_folder.read import read_plate
from tests.command_answers import answer_of
from tests.plate_folders import contents, ellipse_files, panel_files, replaced, write_folder


@pytest.fixture(scope="module")
def top(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_folder(tmp_path_factory.mktemp("plates") / "top", ellipse_files())


@pytest.mark.slow
def test_where_in_json_and_pictures(top: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pictures = tmp_path / "pictures"
    asked = ("where", str(top), "--mode", "2", "--mode", "1", "--json", "--pictures", str(pictures))
    told = json.loads(answer_of(capsys, *asked))
    assert [mode["mode"] for mode in told["modes"]] == ["2", "1"]
    for mode in told["modes"]:
        changes = [place["change_hz"][mode["mode"]] for place in mode["lowers"]]
        assert changes == sorted(changes)
        assert changes[0] < 0
        assert mode["raises_or_least"][0]["change_hz"][mode["mode"]] > changes[0]
        assert mode["whole_hz"] < 0
    assert told["whole_g"] < 0
    assert told["tells"]["mode"] == "2"
    assert told["tells"]["against"] == ["1"]
    names = sorted(path.name for path in pictures.iterdir())
    assert names == ["where-mode-1.png", "where-mode-2-not-1.png", "where-mode-2.png"]


def test_where_in_words_and_one_picture(
    top: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    picture = tmp_path / "where.svg"
    words = " ".join(answer_of(capsys, "where", str(top), "--mode", "2", "--picture", str(picture)).split())
    assert "lowers 2 most" in words
    assert "0.1 mm from the whole inside: mode 2 -" in words
    drawn = picture.read_text()
    assert "Hz for 0.1 mm taken from 1 cm2" in drawn
    assert "lowers it most" in drawn


@pytest.mark.slow
def test_shave_in_json_and_a_picture(top: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spots = ("--spot", "110,-45,25,0.3", "--spot=178,60,20,0.2")
    asked = ("shave", str(top), *spots, "--count", "5", "--json", "--pictures", str(tmp_path / "p"))
    told = json.loads(answer_of(capsys, *asked))
    alone = solve_modes(read_plate(top))
    assert [mode["order"] for mode in told["modes"]] == [1, 2, 3, 4, 5]
    assert [mode["before_hz"] for mode in told["modes"]] == pytest.approx(alone.hz[:5].tolist(), rel=1e-5)
    assert [mode["mode"] for mode in told["modes"]] == list(alone.names[:5])
    assert all(abs(mode["after_hz"] / mode["before_hz"] - 1) < 0.05 for mode in told["modes"])
    assert all(mode["after_hz"] == pytest.approx(mode["live_hz"], rel=1e-3) for mode in told["modes"])
    # 400 kg/m3 times a third of the cylinders; the dome's slope adds a little
    assert told["removed_g"] == pytest.approx(
        0.400 / 3 * 3.1416 * (2.5**2 * 0.03 + 2**2 * 0.02) * 1.0, rel=0.08
    )
    assert told["mass_g"]["before"] - told["mass_g"]["after"] == pytest.approx(told["removed_g"], abs=2e-3)
    assert [path.name for path in (tmp_path / "p").iterdir()] == ["shave.png"]


@pytest.mark.slow
def test_a_value_may_begin_with_a_minus_and_thin_places_bar_and_guesses_are_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files = ellipse_files()
    # readings in the lower half only
    rows = files["thickness.csv"].splitlines()
    files["thickness.csv"] = (
        "\n".join([rows[0], *(r for r in rows[1:] if float(r.split(",")[0]) < 200)]) + "\n"
    )
    replaced("plate.toml", "min_thickness_mm = 2.2", "min_thickness_mm = 3.0")(files)
    shift = {name: _moved(text) for name, text in files.items()}
    top = write_folder(tmp_path / "top", shift)
    said = answer_of(capsys, "shave", str(top), "--spot", "-30,10,25,0.3", "--spot", "120,50,20,0.2")
    words = " ".join(said.split())
    assert "The spot at x -30, y 10 mm reaches over the bar: nothing is taken under it." in words
    assert "The thickness at x 120, y 50 mm is a guess" in words
    assert re.search(r"Too thin: 2\.\d\d mm would be left at x", words)
    assert "under the 3 mm of plate.toml" in words


def _moved(text: str) -> str:
    """Shift a file's plate down by 178 mm, so that its middle lies at x 0."""
    if text.startswith("x_mm"):
        head, *rows = text.splitlines()
        parts = [row.split(",") for row in rows]
        return "\n".join([head, *(",".join([f"{float(p[0]) - 178:.6f}", *p[1:]]) for p in parts)]) + "\n"
    return text.replace("[75.0, 17.0]", "[-103.0, 17.0]").replace("[285.0, 12.0]", "[107.0, 12.0]")


WHERE, SHAVE = "where", "shave"
REFUSED: dict[str, tuple[list[str], str]] = {
    "unknown mode": (
        [WHERE, "{top}", "--mode", "9"],
        r"--mode: no tone .* mode 9; expected one that was found: 1",
    ),
    "mode by name": ([WHERE, "{top}", "--mode", "ring"], r"shape of mode ring"),
    "kind of picture": (
        [WHERE, "{top}", "--mode", "2", "--picture", "{new}.bmp"],
        r"ends in \.png, \.pdf or",
    ),
    "no folder": ([WHERE, "{new}"], r"there is no such folder"),
    "no spot": ([SHAVE, "{top}"], r"no spot is given; expected at least one X,Y,RADIUS,DEPTH in mm"),
    "three numbers": ([SHAVE, "{top}", "--spot", "100,0,20"], r"four numbers with decimal points"),
    "no number": ([SHAVE, "{top}", "--spot", "100,0,20,nan"], r"four numbers"),
    "semicolons": ([SHAVE, "{top}", "--spot", "100;0;20;0.2"], r"Write for instance --spot 250,0,30,0\.2"),
    "negative depth": (
        [SHAVE, "{top}", "--spot", "100,-40,20,-0.2"],
        r"wood cannot be put back.* write 0\.2",
    ),
    "no depth": ([SHAVE, "{top}", "--spot", "100,-40,20,0"], r"expected more than 0 and at most 10"),
    "depth for radius": (
        [SHAVE, "{top}", "--spot", "100,-40,0.2,20"],
        r"the radius is 0\.2 mm; .*Check the order",
    ),
    "radius in inches": ([SHAVE, "{top}", "--spot", "100,-40,1,0.2"], r"If that was inches, write 25\.4"),
    "too small": (
        [SHAVE, "{top}", "--spot", "100,-40,6,0.2"],
        r"its radius is 6 mm; expected at least 9 mm on a plate",
    ),
    "off the plate": ([SHAVE, "{top}", "--spot", "100,-200,20,0.2"], r"off the plate; .* from x 0 to 356"),
    "in a hole": ([SHAVE, "{top}", "--spot", "190,45,20,0.2"], r'lies in the hole "left"'),
    "too deep": (
        [SHAVE, "{top}", "--spot", "100,-40,20,2.5"],
        r"of \d\.\d\d mm at x .* at least 0\.8 mm to be left",
    ),
    "too deep together": (
        [SHAVE, "{top}", *(["--spot", "100,-40,20,0.9"] * 3)],
        r"2\.70 mm would go of .* Take less",
    ),
    "under the bar": ([SHAVE, "{panel}", "--spot", "150,0,9,0.2"], r"all of it lies under the bar"),
    "too many tones": ([SHAVE, "{top}", "--spot", "100,-40,20,0.2", "--count", "17"], r"expected 1 to 16"),
    "no tones": ([SHAVE, "{top}", "--spot", "100,-40,20,0.2", "--count", "0"], r"expected 1 to 16"),
}


@pytest.fixture
def panel(tmp_path: Path) -> Path:
    files = panel_files()
    files["plate.toml"] += (
        "[bar]\nfrom_mm = [50.0, 0.0]\nto_mm = [250.0, 0.0]\nwidth_mm = 20.0\n"
        "height_mm = [[0.0, 3.0], [0.5, 8.0], [1.0, 3.0]]\n"
    )
    return write_folder(tmp_path / "panel", files)


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_is_refused_in_one_sentence_and_nothing_is_written(
    case: str, top: Path, panel: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments, said = REFUSED[case]
    places = {"top": str(top), "panel": str(panel), "new": str(tmp_path / "new")}
    before = contents(tmp_path) | contents(top)
    assert main([part.format(**places) for part in arguments]) == 2
    sentence = capsys.readouterr().err
    assert sentence.count("\n") == 1
    assert re.search(said, sentence), sentence
    assert contents(tmp_path) | contents(top) == before
