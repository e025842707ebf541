"""``platewright pattern`` as a maker and as another program use it."""

import json
import shutil
from pathlib import Path

import pytest

from solver.cli import main
from tests.command_answers import refusal_of
from tests.measured.powder_subjects import CASES, powder_shows, solved
from tests.measured.rendered_photo import Scene, render

CASE = "spruce-blank"
CROSS = 0
SCENE = Scene(21, inside=True, turn=160, tilt=10, tilt_towards=80, size=(960, 720))


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a plate and a photo of it."""
    folder = tmp_path_factory.mktemp("bench")
    shutil.copytree(CASES / CASE, folder / "plate")
    plate = solved(CASE)
    render(plate.subject, powder_shows(plate.modes, CROSS), SCENE).save(folder / "cross.jpg", quality=90)
    return folder


def refusal(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> str:
    """Run the command, which must refuse in one line, and return the sentence."""
    return refusal_of(capsys, "pattern", *arguments)


def test_a_photo_is_read_its_lines_saved_and_drawn(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    photo, plate = bench / "cross.jpg", bench / "plate"
    before = {path.name: path.stat().st_mtime_ns for path in plate.rglob("*")}
    assert main(["pattern", str(plate), str(photo), "--json", "--picture", str(bench / "lines.png")]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["best"]["order"] == CROSS + 1
    assert told["best"]["mode"] == "1"
    assert told["best"]["median_mm"] <= 3.0
    assert {"order", "mode", "median_mm", "score"} <= set(told["scores"][0])
    assert [row["order"] for row in told["scores"]] == list(range(1, 17))
    # a rectangle's cross looks the same from either side, and that is said
    assert any("--seen" in warning for warning in told["warnings"])
    lines = bench / "cross-lines.csv"
    assert told["lines_csv"] == str(lines)
    header, first, *_ = lines.read_text().splitlines()
    assert header == "line,x_mm,y_mm"
    assert first.startswith("1,")
    assert (bench / "lines.png").stat().st_size > 20_000
    assert before == {path.name: path.stat().st_mtime_ns for path in plate.rglob("*")}


@pytest.mark.slow
def test_a_second_reading_keeps_the_first_and_speaks_in_words(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (bench / "cross-lines.csv").write_text("mine")
    code = main(
        ["pattern", str(bench / "plate"), str(bench / "cross.jpg"), "--hz", "410", "--seen", "inside"]
    )
    printed = capsys.readouterr()
    assert code == 0, printed.err
    assert (bench / "cross-lines.csv").read_text() == "mine"
    assert (bench / "cross-lines-2.csv").read_text().startswith("line,x_mm,y_mm")
    said = " ".join(printed.out.split())
    assert "photographed from the inside, dark powder" in said
    assert "The lines look more like mode 1" in said


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--hz", "4"], "--hz: 4 Hz; expected 10 to 5000"),
        (["--seen", "front"], '--seen: "front"; expected inside'),
        (["--landmark", "1,2"], "--landmark: '1,2'; expected X_PX,Y_PX=X_MM,Y_MM"),
        (["--landmark", "1,2=scroll"], "this plate has no place called scroll; expected lower-left"),
        (["--landmark", "1,2=3,4"], "1 places; expected 4 or more"),
    ],
)
def test_wrong_options_are_refused(
    arguments: list[str], said: str, bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert said in refusal(capsys, bench / "plate", bench / "cross.jpg", *arguments)


def test_wrong_files_are_refused(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = sorted(bench.rglob("*"))
    assert "there is no such folder" in refusal(capsys, bench / "nowhere", bench / "cross.jpg")
    assert "it cannot be opened" in refusal(capsys, bench / "plate", bench / "no.jpg")
    assert "no JPEG or PNG picture" in refusal(capsys, bench / "plate", bench / "plate" / "plate.toml")
    kept = refusal(
        capsys, bench / "plate", bench / "cross.jpg", "--lines", str(bench / "plate" / "plate.toml")
    )
    assert "the file is there already and is kept" in kept
    assert sorted(bench.rglob("*")) == before


def test_a_picture_of_no_kind_leaves_nothing_behind(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = sorted(bench.iterdir())
    said = refusal(capsys, bench / "plate", bench / "cross.jpg", "--picture", bench / "lines.txt")
    assert "a picture of kind 'txt'" in said
    assert sorted(bench.iterdir()) == before
