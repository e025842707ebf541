"""``platewright tap`` as a maker and as another program use it."""

import io
import json
import re
import shutil
from pathlib import Path

import numpy as np
import pytest
import soundfile
from rich.console import Console
from scipy.signal import resample_poly

from solver.cli import main
from solver.commands.tap import TapRequest, run_tap
from solver.plate_folder.description import read_description
from solver.plate_folder.schema import LogEntry
from tests.command_answers import answer_of
from tests.measured.demonstration_taps import FAN_HZ, HZ, RATE, RECORDING, Q, taps, taps_with_a_door
from tests.measured.telephone_files import write_m4a
from tests.plate_folders import contents

TOP = RECORDING.parent.parent


def answer(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Run the command, which must succeed, and return what it printed."""
    return answer_of(capsys, "tap", *arguments)


def test_the_demonstration_recording_is_what_its_maker_makes() -> None:
    kept, rate = soundfile.read(RECORDING)
    assert rate == RATE
    assert kept == pytest.approx(taps(), abs=1e-4)


def test_one_tap_in_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    soundfile.write(tmp_path / "one.wav", taps()[: int(2.3 * RATE)], RATE)
    said = " ".join(answer(capsys, str(tmp_path / "one.wav")).split())
    assert said.startswith("one.wav")
    assert "One tap." in said
    assert "hum of the mains at 50.0, 100.0, 150.0" in said
    assert re.search(r"8(6\.9|7\.0)\d │ 0\.0\d │ F2 -[5-7] │ 5\d", said)


def test_recorded_by_a_telephone_the_tones_are_the_same_and_its_loss_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_m4a(tmp_path / "taps.m4a", resample_poly(taps(), 441, 80), RATE * 441 // 80)
    told = json.loads(answer(capsys, str(tmp_path / "taps.m4a"), "--json"))
    assert [tone["hz"] for tone in told["tones"]] == pytest.approx(list(HZ), abs=0.2)
    assert all(abs(tone["hz"] - hz) < 3.5 * tone["sd_hz"] for tone, hz in zip(told["tones"], HZ, strict=True))
    assert ["stored with loss" in warning for warning in told["warnings"]] == [True]


def test_on_its_plate_the_tones_are_named_logged_and_drawn(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, picture = tmp_path / "top", tmp_path / "taps.svg"
    shutil.copytree(TOP, folder, ignore=shutil.ignore_patterns("recordings", "pictures"))
    asked = (str(RECORDING), "--plate", str(folder), "--log", "--picture", str(picture), "--json")
    told = json.loads(answer(capsys, *asked))
    assert told["warnings"] == []
    assert told["taps"] == 4
    assert any(abs(hz - FAN_HZ) < 0.2 for hz in told["steady_hz"])
    assert [tone["hz"] for tone in told["tones"]] == pytest.approx(list(HZ), abs=0.1)
    assert [tone["q"] for tone in told["tones"]] == pytest.approx(list(Q), rel=0.1)
    assert all(0 < tone["sd_hz"] < 0.1 for tone in told["tones"])
    named = {tone["mode"]: tone["hz"] for tone in told["tones"] if tone["mode"]}
    assert list(named) == ["1", "2", "3", "5"]
    (silent,) = [mode for mode in told["silent"] if mode["mode"] == "4"]
    assert len(silent["tap_mm"]) == 2
    assert len(silent["hold_mm"]) == 2
    check_logged(folder, named)
    drawn = picture.read_text()
    assert "mode 5  352.5" in drawn
    assert "hum 50" in drawn
    assert "4 silent" in drawn


def check_logged(folder: Path, named: dict[str, float]) -> None:
    """Assert that the newest entry has the tones, those of numbered modes by their number, and its own recording."""
    newest = list(read_description(folder).log.values())[-1]
    assert newest.modes_hz == {mode: round(hz, 2) for mode, hz in named.items()}
    assert len(newest.tones_hz) == len(HZ) - len(named)
    assert newest.recording == "recordings/taps.flac"
    assert (folder / "recordings" / "taps.flac").read_bytes() == RECORDING.read_bytes()


@pytest.fixture
def spoilt(tmp_path: Path) -> tuple[Path, Path]:
    """The demonstration top, and a recording of it in which something rattles."""
    shutil.copytree(TOP, tmp_path / "top", ignore=shutil.ignore_patterns("recordings", "pictures"))
    soundfile.write(tmp_path / "door.wav", 0.5 * taps_with_a_door()[: 3 * RATE], RATE, subtype="FLOAT")
    return tmp_path / "top", tmp_path / "door.wav"


def newest(folder: Path) -> LogEntry:
    return list(read_description(folder).log.values())[-1]


def test_of_a_spoilt_recording_nothing_is_entered(
    spoilt: tuple[Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    folder, recording = spoilt
    log = {path.name for path in (folder / "log").iterdir()}
    assert main(["tap", str(recording), "--plate", str(folder), "--log", "--json"]) == 2
    printed = capsys.readouterr()
    told = json.loads(printed.out)
    assert told["doubtful"]
    assert "record single taps again" in told["warnings"][-1].lower()
    assert {tone["mode"] for tone in told["tones"]} == {None}
    assert "Nothing was entered; if these tones are the plate's all the same, add --as-typed." in printed.err
    assert {path.name for path in (folder / "log").iterdir()} == log
    assert not (folder / "recordings").exists()


@pytest.mark.slow
def test_a_spoilt_recording_is_entered_as_it_seems_where_that_is_asked_for(spoilt: tuple[Path, Path]) -> None:
    folder, recording = spoilt
    assert main(["tap", str(recording), "--plate", str(folder), "--log", "--as-typed"]) == 0
    assert newest(folder).modes_hz
    assert newest(folder).tones_hz


@pytest.mark.slow
@pytest.mark.parametrize(("answer", "entered"), [("", 0), ("y", 1)])
def test_at_the_terminal_it_is_asked_whether_to_enter_all_the_same(
    answer: str, entered: int, spoilt: tuple[Path, Path]
) -> None:
    folder, recording = spoilt
    before = len(read_description(folder).log)
    asked, out = [], Console(file=io.StringIO(), width=200)

    def ask(question: str) -> str:
        asked.append(question)
        return answer

    run_tap(TapRequest((recording,), folder, True, None, False, False), out, out, ask)
    assert asked == ["Enter these tones all the same? [y/N] "]
    assert len(read_description(folder).log) == before + entered
    assert isinstance(out.file, io.StringIO)
    assert "5 ?" in out.file.getvalue()
    assert ("Nothing was entered." in out.file.getvalue()) == (not entered)


REFUSED: dict[str, tuple[list[str], str]] = {
    "no recording": ([], r"Missing argument 'RECORDING\.\.\.'"),
    "not there": (["{new}.wav"], r"there is no such file; expected a recording"),
    "a photo": (["{photo}"], r"cannot be read as a recording, or is damaged"),
    "empty": (["{empty}"], r"the file is empty"),
    "silence": (["{silence}"], r"silence\.wav: there is no tap in it"),
    "bursts of noise": (["{bursts}"], r"bursts\.wav: no tones that ring down stand out|does not ring down"),
    "one good, one bad": ([str(RECORDING), "{silence}"], r"silence\.wav: there is no tap in it"),
    "log without a plate": ([str(RECORDING), "--log"], r"--log: no plate is named; .* Add --plate FOLDER"),
    "no such plate": ([str(RECORDING), "--plate", "{new}", "--log"], r"there is no such folder"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_is_refused_in_one_sentence_and_nothing_is_written(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments, said = REFUSED[case]
    rng, time = np.random.default_rng(1), np.arange(4 * RATE) / RATE
    names = {name: tmp_path / f"{name}.wav" for name in ("photo", "empty", "silence", "bursts")}
    names["photo"].write_bytes(b"\xff\xd8\xff\xe0\x00\x10JFIF" + rng.bytes(3000))
    names["empty"].touch()
    soundfile.write(names["silence"], np.zeros(2 * RATE), RATE)
    gate = (np.sin(2 * np.pi * 1.3 * time) > 0) * np.abs(np.sin(2 * np.pi * 4 * time))
    soundfile.write(names["bursts"], 0.2 * rng.normal(size=len(time)) * gate, RATE)
    before = contents(tmp_path)
    places = {name: str(path) for name, path in names.items()} | {"new": str(tmp_path / "new")}
    assert main(["tap", *(part.format(**places) for part in arguments)]) == 2
    sentence = capsys.readouterr().err
    assert sentence.count("\n") == 1
    assert re.search(said, sentence), sentence
    assert contents(tmp_path) == before
