"""``platewright log`` as a maker and as another program use it."""

import json
import os
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from rich.console import Console

from solver.cli import main
from solver.commands.log import run_log
from solver.commands.log_request import LogRequest, TypedEntry
from solver.plate_folder.description import read_description, read_entries
from solver.plate_folder.log_doubts import doubts_of
from solver.plate_folder.schema import LogEntry
from tests.command_answers import refusal_of
from tests.plate_folders import ellipse_files, panel_files, write_folder

ROOM = "[climate]\ntemperature_c = 20.0\nhumidity_pct = 50.0\n[wanted]\nmodes_hz = { 1 = 100.0 }\n"
NOW = datetime(2026, 3, 20, 12, 0, tzinfo=UTC)


def panel(tmp_path: Path) -> Path:
    files = panel_files()
    files["plate.toml"] += ROOM
    return write_folder(tmp_path / "panel", files)


def top(tmp_path: Path) -> Path:
    return write_folder(tmp_path / "top", ellipse_files())


def enter(folder: Path, *arguments: str) -> LogEntry:
    """Enter something, which must succeed, and return the newest entry that stands."""
    before = set(read_entries(folder))
    assert main(["log", str(folder), *arguments]) == 0
    (new,) = set(read_entries(folder)) - before
    return read_entries(folder)[new]


def refusal(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> str:
    """Run the command, which must refuse in one line and enter nothing, and return the sentence."""
    before = read_entries(folder)
    capsys.readouterr()
    said = refusal_of(capsys, "log", folder, *arguments)
    assert read_entries(folder) == before
    return said


def history(capsys: pytest.CaptureFixture[str], folder: Path) -> dict[str, object]:
    capsys.readouterr()
    assert main(["log", str(folder), "--show", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert isinstance(told, dict)
    return told


def test_every_option_arrives_in_the_entry(tmp_path: Path) -> None:
    folder = top(tmp_path)
    (tmp_path / "powder.jpg").write_text("powder")
    (tmp_path / "tap.wav").write_text("taps")
    entry = enter(
        folder,
        *("--mass", "54.5g", "--mode", "5=340", "--mode", "1=87.5Hz", "--tone", "261", "--tone", "224"),
        *("--temperature", "18", "--humidity", "52%", "--stage", "scraped", "--note", "a hair off"),
        *("--photo", str(tmp_path / "powder.jpg"), "--recording", str(tmp_path / "tap.wav")),
    )
    assert datetime.now().astimezone() - entry.taken < timedelta(minutes=1)
    assert entry.model_dump(exclude={"taken"}, exclude_defaults=True) == {
        "mass_g": 54.5,
        "modes_hz": {"1": 87.5, "5": 340.0},
        "tones_hz": (224.0, 261.0),
        "temperature_c": 18.0,
        "humidity_pct": 52.0,
        "stage": "scraped",
        "note": "a hair off",
        "photo": "photos/powder.jpg",
        "recording": "recordings/tap.wav",
    }
    assert (folder / "photos/powder.jpg").read_text() == "powder"


def test_what_the_plate_was_then_arrives_in_the_entry(tmp_path: Path) -> None:
    folder = top(tmp_path)
    (tmp_path / "then.csv").write_text((folder / "thickness.csv").read_text())
    entry = enter(
        folder,
        *("--mode", "5=350", "--stage", "rough, before holes", "--without", "holes,bar"),
        *("--thickness", str(tmp_path / "then.csv")),
    )
    assert (entry.without, entry.thickness) == (("holes", "bar"), "thickness/then.csv")
    assert (folder / "thickness/then.csv").read_text() == (folder / "thickness.csv").read_text()
    corrected = enter(
        folder, "--corrects", "last", "--take-out", "thickness", "--without", "bar", "--stage", "x"
    )
    assert (corrected.without, corrected.thickness) == (("bar",), None)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--stage", "rough, before holes"), "Say so with --without holes,bar; if it was thicker too"),
        (("--stage", "bar not fitted"), "Say so with --without bar;"),
        (("--stage", "holes cut", "--without", "holes"), "without names holes. Leave holes out of --without"),
    ],
)
def test_a_stage_that_contradicts_the_folder_is_asked_about(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], said: str
) -> None:
    folder = top(tmp_path)
    refused = refusal(capsys, folder, "--mass", "55", *arguments)
    assert said in refused
    assert "add --as-typed" in refused
    assert enter(folder, "--mass", "55", *arguments, "--as-typed").stage == arguments[1]


@pytest.mark.parametrize(
    "stage", ["holes cut", "bar fitted", "scraped around the holes", "rough", "rehair the bow"]
)
def test_other_stages_are_entered_without_a_question(tmp_path: Path, stage: str) -> None:
    assert enter(top(tmp_path), "--mass", "55", "--stage", stage).stage == stage


def test_a_part_that_the_folder_has_not_is_no_stage_of_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = refusal(capsys, panel(tmp_path), "--mass", "55", "--stage", "bar glued")
    assert "plate.toml has no bar" in said


def test_readings_that_can_be_none_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = top(tmp_path)
    (tmp_path / "inches.csv").write_text("x_mm,y_mm,t_mm\n10,0,0.11\n20,0,0.12\n20,9,0.1\n")
    assert "--thickness: " in refusal(capsys, folder, "--thickness", str(tmp_path / "inches.csv"))
    assert "--thickness: " in refusal(capsys, folder, "--thickness", str(folder / "plate.toml"))
    assert "--without names" in refusal(capsys, folder, "--without", "purfling")
    assert not (folder / "thickness").exists()


def test_everything_may_be_left_out_but_the_date(tmp_path: Path) -> None:
    entry = enter(panel(tmp_path), "--taken", "2026-03-14T19:05")
    assert entry == LogEntry(taken=datetime(2026, 3, 14, 19, 5).astimezone())


def test_a_correction_keeps_what_is_not_given_and_the_old_entry_stays(tmp_path: Path) -> None:
    folder = top(tmp_path)
    old = read_description(folder).log["2026-03-14T190500.toml"]
    new = enter(folder, "--corrects", "last", "--mode", "5=341", "--take-out", "tone", "--take-out", "mode=1")
    assert new == old.model_copy(
        update={"corrects": "2026-03-14T190500", "modes_hz": {"2": 168.5, "5": 341.0}, "tones_hz": ()}
    )
    assert read_entries(folder)["2026-03-14T190500.toml"] == old
    assert list(read_description(folder).log.values()) == [new]


def test_a_whole_entry_is_taken_out_by_a_correction(tmp_path: Path) -> None:
    folder = top(tmp_path)
    entry = enter(folder, "--corrects", "log/2026-03-14T190500.toml", "--take-out", "all")
    assert entry.model_dump(exclude_defaults=True).keys() == {"taken", "corrects"}


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--mass", "71,4"), "Write a point for the decimal comma, as in --mass 71.4"),
        (("--mass", "0.0714"), "--mass is 0.0714; expected 1 to 10000. If that was kg, write 71.4."),
        (("--mass", "2.5oz"), "--mass is '2.5oz'; expected a number in g"),
        (("--mass", "nan"), "--mass is 'nan'; expected a number"),
        (("--mode", "342=5"), "expected the trade's number of the mode"),
        (("--mode", "342"), "expected the number of a mode and its frequency"),
        (("--mode", "5=0.342"), "If that was kHz, write 342"),
        (("--mode", "5=342", "--mode", "5=344"), "--mode: mode 5 is given twice"),
        (("--tone", "C#4"), "--tone is 'C#4'; expected a number in Hz"),
        (("--temperature", "68"), "If that was degrees Fahrenheit, write 20."),
        (("--humidity", "0.5"), "If that was a share of one, write 50."),
        (("--stage", " "), "--stage is empty"),
        (("--note", "a\x1b[31mb"), "--note holds a sign that no screen shows"),
        (("--note", "scraped " * 1000), "--note has 7999 letters; expected at most 5000"),
        (("--taken", "14.3.2026"), "--taken is '14.3.2026'; expected a date"),
        (("--taken", "0026-03-14"), "expected a year from 1500 to 3000"),
        (("--photo", "missing.jpg"), "--photo: missing.jpg cannot be read"),
        (("--photo", "/dev/zero"), "--photo: /dev/zero is no file"),
        (
            ("--photo", "cases/violin-top-finished/thickness.csv"),
            "thickness.csv is a table or a text by its ending",
        ),
        (
            ("--recording", "cases/violin-top-finished/photos/mode-5.jpg"),
            "mode-5.jpg is a photo by its ending",
        ),
        (("--recording", "/dev/null"), "--recording: /dev/null is no file"),
        (("--mass", "2,5oz"), "--mass is '2,5oz'; expected a number in g. Write for instance --mass 71.4."),
        (("--mode", "5=342,5"), "Write a point for the decimal comma, as in --mode 5=342.5."),
        (("--recording", "."), "--recording: . is no file"),
        (("--corrects", "2025-01-01T000000"), "there is no entry '2025-01-01T000000' in the log"),
        (("--corrects", "../plate"), "there is no entry '../plate' in the log"),
        (("--corrects", "last", "--take-out", "photo"), "--take-out: 'photo' is not in the entry"),
        (("--take-out", "mass"), "--take-out: there is nothing in a new entry to take out"),
        (("--mass", "55", "--picture", "log.gif"), "a picture of kind 'gif'"),
        ((), "log: there is nothing to enter, and no terminal at which to ask"),
    ],
)
def test_a_slip_on_the_command_line_is_refused_and_nothing_entered(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], said: str
) -> None:
    folder = top(tmp_path)
    before = sorted(folder.rglob("*"))
    assert said in refusal(capsys, folder, *arguments)
    assert sorted(folder.rglob("*")) == before


def test_what_was_corrected_is_not_corrected_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = top(tmp_path)
    enter(folder, "--corrects", "last", "--mass", "54")
    said = refusal(capsys, folder, "--corrects", "2026-03-14T190500", "--mass", "53")
    assert "was corrected already by 2026-03-14T190500-2" in said


LAST = LogEntry(taken=NOW - timedelta(days=1), mass_g=68.0, modes_hz={"1": 88.0, "2": 165.0, "5": 350.0})


@pytest.mark.parametrize(
    ("figures", "said"),
    [
        ({"mass_g": 2.4}, "mass_g is 2.4, last it was 68. If that was ounces, write 68.04."),
        ({"mass_g": 6.7}, "If a digit is missing, write 67."),
        ({"mass_g": 671.0}, "If a point is missing, write 67.1."),
        ({"mass_g": 30.0}, "Check its digits."),
        ({"modes_hz": {"5": 35.0}}, "mode 5 is 35 Hz, last it was 350 Hz. If a digit is missing, write 350."),
        ({"modes_hz": {"5": 50.0}}, "Check its digits."),
        ({"modes_hz": {"5": 690.0}}, "If that was its octave, write 345."),
        ({"modes_hz": {"5": 164.0}}, "If it is mode 2, last 165 Hz, write 2=164."),
        ({"modes_hz": {"2": 348.0, "5": 163.0}}, "Check whether the two were exchanged."),
        ({"modes_hz": {"3": 230.0, "4": 210.0}}, "mode 3 is 230 Hz and mode 4 210 Hz, lower."),
        ({"temperature_c": 50.0}, "If that was degrees Fahrenheit, write 10.0."),
        ({"temperature_c": 48.0, "humidity_pct": 19.0}, "temperature and humidity were exchanged"),
        ({"humidity_pct": 5.0}, "humidity_pct is 5, unusual for a shop"),
        ({"taken": NOW + timedelta(days=1)}, "which is still to come"),
    ],
)
def test_what_is_probably_a_slip_is_said(figures: dict[str, object], said: str) -> None:
    entry = LogEntry.model_validate({"taken": NOW} | figures)
    (doubt,) = doubts_of(entry, [LAST], "top", NOW)
    assert said in doubt


def test_the_same_figures_a_moment_later_are_asked_about() -> None:
    entry = LogEntry.model_validate({"taken": NOW, "mass_g": 71.4, "modes_hz": {"5": 342.0}})
    later = {
        seconds: entry.model_copy(update={"taken": NOW + timedelta(seconds=seconds)})
        for seconds in (0, 40, 600)
    }
    (doubt,) = doubts_of(later[40], [entry], "top", NOW)
    assert doubt.startswith("the same was entered 40 s before, at ")
    for other in (later[0], later[600], later[40].model_copy(update={"mass_g": 71.3})):
        assert doubts_of(other, [entry], "top", NOW + timedelta(seconds=600)) == ()


@pytest.mark.parametrize(
    "figures",
    [
        {},
        {"mass_g": 64.0, "modes_hz": {"1": 86.0, "2": 158.0, "5": 338.0}, "temperature_c": 12.0},
        {
            "mass_g": 72.0,
            "modes_hz": {"1": 92.0, "2": 180.0, "5": 360.0},
            "humidity_pct": 75.0,
        },  # a bar glued in
        {"modes_hz": {"5": 320.0}},  # holes cut
        {"tones_hz": (90.0, 40.0)},
    ],
)
def test_what_carving_does_is_no_slip(figures: dict[str, object]) -> None:
    assert doubts_of(LogEntry.model_validate({"taken": NOW} | figures), [LAST], "top", NOW) == ()


def test_a_first_mass_in_ounces_is_noticed_of_a_plate_but_not_of_a_panel() -> None:
    entry = LogEntry(taken=NOW, mass_g=2.4)
    assert len(doubts_of(entry, [], "top", NOW)) == 1
    assert doubts_of(entry, [], "panel", NOW) == ()


def test_a_slip_is_entered_only_as_typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = top(tmp_path)
    assert "if it is right all the same, add --as-typed" in refusal(capsys, folder, "--mass", "5.5")
    assert enter(folder, "--mass", "5.5", "--as-typed").mass_g == 5.5


def at_terminal(folder: Path, typed: TypedEntry, *answers: str) -> str:
    """Run the command with a person at the terminal who gives these answers, and return what they saw."""
    out = Console(record=True, width=200)
    rest = iter(answers)

    def ask(question: str) -> str:
        out.print(question)
        return next(rest)

    run_log(LogRequest(folder, typed, False, False, None, False), out, Console(quiet=True), ask)
    assert next(rest, None) is None
    return out.export_text()


def test_at_a_terminal_every_question_may_be_passed_over(tmp_path: Path) -> None:
    folder = top(tmp_path)
    seen = at_terminal(
        folder, TypedEntry(), "54.2", "", "x", "167", "", "224 261", "19", "", "scraped", "", "bar", ""
    )
    assert "Mode 5, Hz (last 342): " in seen
    assert "expected the number of a mode" in seen  # "x" was asked again
    newest = [*read_description(folder).log.values()][-1]
    assert (newest.mass_g, newest.modes_hz, newest.tones_hz) == (54.2, {"2": 167.0}, (224.0, 261.0))
    assert (newest.temperature_c, newest.humidity_pct, newest.stage) == (19.0, None, "scraped")
    assert (newest.without, newest.thickness) == (("bar",), None)


def test_at_a_terminal_no_answers_make_no_entry(tmp_path: Path) -> None:
    folder = panel(tmp_path)
    assert "Nothing was entered." in at_terminal(folder, TypedEntry(), *[""] * 7)
    assert read_entries(folder) == {}


@pytest.mark.parametrize(("answer", "entered"), [("y", 2), ("", 1), ("n", 1)])
def test_at_a_terminal_a_slip_is_asked_about(tmp_path: Path, answer: str, entered: int) -> None:
    folder = top(tmp_path)
    assert "If a digit is missing" in at_terminal(folder, TypedEntry(mass="5.5"), answer)
    assert len(read_entries(folder)) == entered


@pytest.mark.skipif(os.name == "nt", reason="terminals of POSIX")
def test_a_real_terminal_asks_and_ctrl_d_enters_nothing(tmp_path: Path) -> None:
    import pty

    folder = panel(tmp_path)
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "solver.cli", "log", str(folder)]
    done = subprocess.Popen(command, stdin=theirs, stdout=subprocess.PIPE, text=True)
    os.write(ours, b"43\n\x04")
    out, _ = done.communicate(timeout=60)
    os.close(ours)
    os.close(theirs)
    assert "Mass, g: " in out
    assert done.returncode == 130
    assert read_entries(folder) == {}


def test_the_history_has_changes_and_tones_in_one_room(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = panel(tmp_path)
    for words in (
        "--taken 2026-03-01 --mode 1=100 --mass 43 --temperature 20 --humidity 50",
        "--taken 2026-03-11 --mode 1=98 --mass 42 --temperature 20 --humidity 75",
        "--taken 2026-03-12 --mode 1=97",
    ):
        enter(folder, *words.split())
    told = history(capsys, folder)
    assert told["reference"] == {"temperature_c": 20.0, "humidity_pct": 50.0}
    entries = told["entries"]
    assert isinstance(entries, list)
    first, damp, roomless = (entry["modes"][0] for entry in entries)
    assert [entry["mass_change_g"] for entry in entries] == [None, -1.0, None]
    assert first["low_cents"] == first["high_cents"] == 0.0  # in the very room, and just as wanted
    assert damp["change_hz"] == -2.0
    assert 98.0 < damp["low_hz"] < damp["high_hz"] < 110.0  # drier, it would have been higher
    assert roomless["low_hz"] is None
    assert roomless["low_cents"] == pytest.approx(-52.73, abs=0.01)  # 1200 log2(97/100)


def test_tones_of_one_room_need_no_plate_that_solves(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = panel(tmp_path)
    enter(
        folder,
        *[
            "--taken",
            "2026-03-01",
            "--mode",
            "1=100",
            "--tone",
            "260",
            "--temperature",
            "20",
            "--humidity",
            "50",
        ],
    )
    (folder / "outline.csv").write_text("x_mm,y_mm\n0,0\n")
    told = history(capsys, folder)
    assert told["reference"] == {"temperature_c": 20.0, "humidity_pct": 50.0}
    assert isinstance(told["entries"], list)
    (entry,) = told["entries"]
    assert [(tone["low_hz"], tone["high_hz"]) for tone in (*entry["modes"], *entry["tones"])] == [
        (100, 100),
        (260, 260),
    ]


def test_a_log_without_a_plate_that_solves_is_shown_all_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = top(tmp_path)
    (folder / "outline.csv").write_text("x_mm,y_mm\n0,0\n")
    told = history(capsys, folder)
    assert isinstance(told["entries"], list)
    assert len(told["entries"]) == 1
    assert told["reference"] is None
    assert "The tones are not brought to one room. outline.csv" in str(told["remarks"])


def test_the_table_and_the_picture(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder, picture = panel(tmp_path), tmp_path / "log.svg"
    for words in (
        "--taken 2026-03-01 --mode 1=101 --mass 43 --stage planed --humidity 50",
        "--taken 2026-03-09 --mode 1=98 --mass 42 --tone 240 --note thin",
    ):
        enter(folder, *words.split())
    capsys.readouterr()
    assert main(["log", str(folder), "--show", "--picture", str(picture)]) == 0
    table = capsys.readouterr().out
    for words in ("2026-03-01T120000", "planed", "thin", "-3.0", "-1.0", "-35"):
        assert words in table
    drawn = picture.read_text()
    for words in (
        "mode 1  [Hz]",
        "mass  [g]",
        "tones of no known mode",
        "last -35 cents from it",
        "planed",
        "50 %",
    ):
        assert words in drawn


def test_an_empty_log_is_said_to_be_empty(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = panel(tmp_path)
    assert main(["log", str(folder), "--show"]) == 0
    assert "The log is empty." in capsys.readouterr().out
    assert "no entry of the log has a mass or a tone" in refusal(capsys, folder, "--picture", "log.png")


def test_json_of_an_entry(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = top(tmp_path)
    assert main(["log", str(folder), "--taken", "2026-03-15", "--mass", "5.5", "--as-typed", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["added"] == "2026-03-15T120000"
    assert "If a digit is missing" in told["warnings"][0]
    assert "entries" not in told
