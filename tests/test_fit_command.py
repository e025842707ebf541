"""``platewright fit`` as a maker and as another program use it."""

import json
import shutil
import tomllib
from pathlib import Path

import pytest

from solver.cli import main
from solver.core.errors import InputError
from solver.core.units import GPA
from solver.plate_folder.description import read_description
from solver.plate_folder.fitted_table import write_record
from solver.plate_folder.read import read_folder, read_plate
from tests.command_answers import answer_of, refusal_of
from tests.plate_folders import ellipse_files, panel_files, replaced, write_folder

TONES = (121.7, 171.1, 297.3, 335.9, 409.7, 474.6)
"""Those of the panel of 300 x 120 x 3 mm with EL 10, ER 1.0, GLR 0.8 GPa, the rest as the table's Sitka spruce: 43.2 g."""

LOG = f"""\
taken = 2026-03-14T19:05:00+01:00
mass_g = 43.2
tones_hz = {list(TONES)}
"""
COMMENT = "# the maker's own words, which nobody may lose\n"


def panel(folder: Path, *entries: str) -> Path:
    files = panel_files()
    files["plate.toml"] = COMMENT + files["plate.toml"]
    files |= {f"log/{number}.toml": text for number, text in enumerate(entries)}
    return write_folder(folder, files)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A panel whose fitted wood was written; copied before it is changed."""
    folder = panel(tmp_path_factory.mktemp("kept") / "panel", LOG)
    assert main(["fit", str(folder), "--write", "--json"]) == 0
    return folder


def answer(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Run a command, which must succeed, and return what it printed."""
    return " ".join(answer_of(capsys, *arguments).split())


def refusal(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> str:
    """Run the command, which must refuse in one line, and return the sentence."""
    return refusal_of(capsys, "fit", str(folder), *arguments)


def test_json_has_the_agreed_keys(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = panel(tmp_path / "panel", LOG)
    before = (folder / "plate.toml").read_bytes()
    told = json.loads(answer(capsys, "fit", str(folder), "--json"))
    for name, true in (("EL_GPa", 10.0), ("ER_GPa", 1.0), ("GLR_GPa", 0.8)):
        found = told["wood"][name]
        assert found["low"] < true < found["high"]
        assert found["value"] == pytest.approx(true, rel=0.03)
    assert [tone["measured_hz"] for tone in told["modes"]] == list(TONES)
    assert all(tone["fitted_hz"] == pytest.approx(tone["measured_hz"], rel=0.01) for tone in told["modes"])
    assert told["doubts"] == []
    assert told["written"] is None
    assert (folder / "plate.toml").read_bytes() == before


def test_what_is_written_holds_from_then_on(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record = tomllib.loads((kept / "plate.toml").read_text())["fitted"][0]
    read = read_folder(read_description(kept))
    assert pytest.approx(record["EL_GPa"] * GPA) == read.plate.wood.EL
    assert read.stated.wood.EL != read.plate.wood.EL
    assert read.posterior is not None
    assert read.posterior.interval("EL")[0] < 10 * GPA < read.posterior.interval("EL")[1]
    assert "wood as fitted on" in answer(capsys, "modes", str(kept))
    assert "fitted on" in answer(capsys, "check", str(kept))


def test_the_makers_file_stays_as_it_was_before_the_record(kept: Path) -> None:
    text = (kept / "plate.toml").read_text()
    assert text.startswith(COMMENT + panel_files()["plate.toml"])


def test_taken_out_the_old_wood_is_back(kept: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(kept, tmp_path / "panel"))
    text = (folder / "plate.toml").read_text()
    (folder / "plate.toml").write_text(text[: text.index("[[fitted]]")])
    assert read_plate(folder).wood == read_folder(read_description(kept)).stated.wood


def test_the_newest_record_holds_wherever_it_stands(kept: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(kept, tmp_path / "panel"))
    text = (folder / "plate.toml").read_text()
    record = text[text.index("[[fitted]]") :]
    date = next(line for line in record.splitlines() if line.startswith("date"))
    stiffer = next(line for line in record.splitlines() if line.startswith("EL_GPa"))
    older = record.replace(date, "date = 2020-01-01T00:00:00Z").replace(stiffer, "EL_GPa = 13.0")
    (folder / "plate.toml").write_text(text + older)
    assert read_plate(folder).wood.EL == read_plate(kept).wood.EL
    (folder / "plate.toml").write_text(text + older.replace("2020-01-01", "2990-01-01"))
    assert pytest.approx(13 * GPA) == read_plate(folder).wood.EL


def test_a_file_that_changed_meanwhile_is_left_alone(kept: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(kept, tmp_path / "panel"))
    now = (folder / "plate.toml").read_bytes()
    with pytest.raises(InputError, match="changed since the fit began"):
        write_record(folder, now + b"# added\n", "[[fitted]]\n")
    assert (folder / "plate.toml").read_bytes() == now


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("density_kg_m3 = ", "density_kg_m3 = 9", "density_kg_m3"),
        ("offsets = [", "offsets = [0.1, ", "is not whole"),
        ("covariance = [\n    [0", "covariance = [\n    [-1", "no wood can have"),
    ],
)
def test_a_record_that_was_meddled_with(
    kept: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, said: str
) -> None:
    folder = Path(shutil.copytree(kept, tmp_path / "panel"))
    text = (folder / "plate.toml").read_text()
    start = text.index("[[fitted]]")
    (folder / "plate.toml").write_text(text[:start] + text[start:].replace(old, new))
    assert said in refusal(capsys, folder)


def test_a_folder_without_tones(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = panel(tmp_path / "panel", "taken = 2026-03-14T19:05:00+01:00\nmass_g = 46.0\n")
    assert "no entry with tones" in refusal(capsys, folder)


@pytest.mark.parametrize(
    ("wanted", "said"),
    [("2027", "is no entry of the log"), ("silent", "has no tones"), ("a", "stands for 2 entries")],
)
def test_an_entry_that_is_not_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], wanted: str, said: str
) -> None:
    files = panel_files() | {
        "log/a1.toml": LOG,
        "log/a2.toml": LOG,
        "log/silent.toml": "taken = 2026-03-14T19:05:00\n",
    }
    assert said in refusal(capsys, write_folder(tmp_path / "panel", files), "--entry", wanted)


def test_readings_that_an_entry_names_must_be_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files = ellipse_files()
    replaced("log/2026-03-14T190500.toml", 'note = "', 'thickness = "thick-1.csv"\nnote = "')(files)
    assert "thick-1.csv" in refusal(capsys, write_folder(tmp_path / "plate", files))
    files["thick-1.csv"] = files["thickness.csv"].replace("t_mm\n", "t_mm\n5000,0,2.5\n")
    assert "2026-03-14T190500.toml" in refusal(capsys, write_folder(tmp_path / "other", files))


def test_a_part_that_no_plate_has(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = ellipse_files()
    replaced("log/2026-03-14T190500.toml", 'note = "', 'without = ["purfling"]\nnote = "')(files)
    assert '"holes" or "bar"' in refusal(capsys, write_folder(tmp_path / "plate", files))


def test_a_stage_that_contradicts_the_folder_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = panel(tmp_path / "panel", LOG + 'stage = "bar fitted"\n')
    told = json.loads(answer(capsys, "fit", str(folder), "--json"))
    (doubt,) = told["doubts"]
    assert doubt["kind"] == "stage"
    assert "plate.toml has no bar" in doubt["in_words"]
    assert "--corrects 0" in doubt["in_words"]
