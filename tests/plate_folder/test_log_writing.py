"""Entries of the log are there whole or not at all, and none is ever lost or written over."""

import os
import random
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solver.core.errors import InputError
from solver.plate_folder.added_file import add_file
from solver.plate_folder.description import read_description, read_entries
from solver.plate_folder.kept_file import kept_file
from solver.plate_folder.log_writing import add_entry, entry_text
from solver.plate_folder.schema import LogEntry
from solver.plate_folder.toml_file import parse_toml
from tests.plate_folders import panel_files, write_folder

TAKEN = datetime(2026, 3, 14, 19, 5, tzinfo=UTC)
ROOT = Path(__file__).parents[2]


def panel(tmp_path: Path) -> Path:
    return write_folder(tmp_path / "panel", panel_files())


def writer(folder: Path, number: int, entries: int) -> "subprocess.Popen[str]":
    """Start a program that adds entries."""
    command = [sys.executable, "-m", "tests.log_adding", str(folder), str(number), str(entries)]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True)


def test_an_entry_comes_back_as_it_was_given(tmp_path: Path) -> None:
    folder = panel(tmp_path)
    entry = LogEntry(
        taken=TAKEN, stage="planed", mass_g=43.2, modes_hz={"1": 88.0}, tones_hz=(200.5,), note="ß"
    )
    stamp = add_entry(folder, entry)
    assert stamp == "2026-03-14T190500"
    assert read_description(folder).log == {f"{stamp}.toml": entry}
    assert [path.name for path in (folder / "log").iterdir()] == [f"{stamp}.toml"]


def test_entries_of_one_second_are_counted_and_keep_their_order(tmp_path: Path) -> None:
    folder = panel(tmp_path)
    stamps = [add_entry(folder, LogEntry(taken=TAKEN, mass_g=40.0 + n)) for n in range(12)]
    assert stamps[:3] == ["2026-03-14T190500", "2026-03-14T190500-2", "2026-03-14T190500-3"]
    assert [entry.mass_g for entry in read_description(folder).log.values()] == [40.0 + n for n in range(12)]


def test_the_same_entry_added_again_is_one(tmp_path: Path) -> None:
    """As by a maker whose program was ended in the last instant; another time, word or figure is another entry."""
    folder = panel(tmp_path)
    first, other = LogEntry(taken=TAKEN, mass_g=41.0), LogEntry(taken=TAKEN, mass_g=40.0)
    stamps = [add_entry(folder, entry) for entry in (first, other, first, other)]
    assert stamps == ["2026-03-14T190500", "2026-03-14T190500-2"] * 2
    add_entry(folder, first.model_copy(update={"taken": TAKEN + timedelta(seconds=1)}))
    add_entry(folder, first.model_copy(update={"note": "again"}))
    assert len(read_description(folder).log) == 4


@given(
    st.builds(
        LogEntry,
        taken=st.datetimes(datetime(1500, 1, 2), datetime(2500, 1, 1), timezones=st.just(UTC)),
        stage=st.none() | st.text(),
        mass_g=st.none() | st.floats(1, 10000),
        modes_hz=st.dictionaries(st.from_regex(r"[1-9][0-9]?", fullmatch=True), st.floats(5, 5000)),
        tones_hz=st.lists(st.floats(5, 5000)).map(tuple),
        note=st.none() | st.text(),
    )
)
@settings(max_examples=60, deadline=None)
def test_whatever_is_written_is_read_the_same(entry: LogEntry) -> None:
    assert parse_toml(entry_text(entry), LogEntry, "entry") == entry


def test_a_correction_stands_in_the_place_of_the_old_entry(tmp_path: Path) -> None:
    folder = panel(tmp_path)
    wrong = add_entry(folder, LogEntry(taken=TAKEN, mass_g=340.0))
    add_entry(folder, LogEntry(taken=TAKEN + timedelta(days=1), mass_g=42.0))
    better = add_entry(folder, LogEntry(taken=TAKEN, mass_g=44.0, corrects=wrong))
    best = add_entry(folder, LogEntry(taken=TAKEN, mass_g=43.0, corrects=better))
    assert [entry.mass_g for entry in read_description(folder).log.values()] == [43.0, 42.0]
    assert next(iter(read_description(folder).log)) == f"{best}.toml"
    assert len(read_entries(folder)) == 4


def test_of_two_corrections_of_one_entry_the_last_stands(tmp_path: Path) -> None:
    folder = panel(tmp_path)
    wrong = add_entry(folder, LogEntry(taken=TAKEN, mass_g=340.0))
    for mass in (44.0, 43.0):
        add_entry(folder, LogEntry(taken=TAKEN, mass_g=mass, corrects=wrong))
    assert [entry.mass_g for entry in read_description(folder).log.values()] == [43.0]


def test_a_correction_of_nothing_is_refused(tmp_path: Path) -> None:
    folder = panel(tmp_path)
    with pytest.raises(InputError, match='there is no entry "2026-01-01T000000" to correct'):
        add_entry(folder, LogEntry(taken=TAKEN, corrects="2026-01-01T000000"))
    assert read_entries(folder) == {}


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('corrects = "a"', "corrects this one in turn"),
        ('corrects = "c"', "there is no such entry"),
        ('corrects = "../a"', "expected the name of the file of an entry"),
        ('photo = "../a.jpg"', "expected a file inside the plate's folder"),
        ('recording = "C:/a.wav"', "expected a file inside the plate's folder"),
    ],
)
def test_an_entry_that_leads_astray_is_named(tmp_path: Path, line: str, said: str) -> None:
    files = panel_files()
    files["log/a.toml"] = 'taken = 2026-03-14T19:05:00Z\ncorrects = "b"\n' if "in turn" in said else ""
    files["log/a.toml"] = files["log/a.toml"] or "taken = 2026-03-14T19:05:00Z\n"
    files["log/b.toml"] = f"taken = 2026-03-14T19:05:00Z\n{line}\n"
    with pytest.raises(InputError, match=said):
        read_description(write_folder(tmp_path / "panel", files))


def test_a_log_that_leads_out_of_the_folder_is_not_written_to(tmp_path: Path) -> None:
    folder = panel(tmp_path)
    (tmp_path / "elsewhere").mkdir()
    (folder / "log").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(InputError, match="leads out of the plate's folder"):
        add_entry(folder, LogEntry(taken=TAKEN))
    assert [*(tmp_path / "elsewhere").iterdir()] == []


@pytest.fixture
def no_links(monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that knows no second names of files, as sticks are."""

    def refuse(*_: object) -> None:
        raise PermissionError("no links here")

    monkeypatch.setattr(os, "link", refuse)


@pytest.mark.usefixtures("no_links")
def test_where_no_links_are_known_nothing_is_written_over_either(tmp_path: Path) -> None:
    (tmp_path / ".platewright-b.reserved").touch()  # by another program
    first = add_file(tmp_path, ("a", "b", "c"), lambda part: part.write_text("first"))
    second = add_file(tmp_path, ("a", "b", "c"), lambda part: part.write_text("second"))
    assert {name: (tmp_path / name).read_text() for name in (first, second)} == {"a": "first", "c": "second"}


@pytest.mark.usefixtures("no_links")
def test_readers_pass_over_what_is_not_yet_an_entry(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = panel(tmp_path)
    seen = []
    rename = Path.rename

    def watched(part: Path, target: Path) -> Path:
        (folder / "log" / "._of-some-system.toml").touch()
        seen.append(len(read_entries(folder)))
        return rename(part, target)

    monkeypatch.setattr(Path, "rename", watched)
    for mass in (41.0, 42.0):
        add_entry(folder, LogEntry(taken=TAKEN, mass_g=mass))
    assert seen == [0, 1]
    assert len(read_entries(folder)) == 2


def test_what_a_program_left_behind_is_cleared_away_when_it_is_old(tmp_path: Path) -> None:
    for name, age in (("old", 7200), ("new", 60)):
        left = tmp_path / f".platewright-{name}"
        left.mkdir()
        os.utime(left, (time.time() - age, time.time() - age))
    add_file(tmp_path, ("a",), Path.touch)
    assert sorted(path.name for path in tmp_path.iterdir()) == [".platewright-new", "a"]


def test_a_full_disk_adds_nothing(tmp_path: Path) -> None:
    def full(part: Path) -> None:
        part.write_text("half")
        raise OSError(28, "No space left on device")

    with pytest.raises(InputError, match="No space left on device"):
        add_file(tmp_path, ("a",), full)
    assert [*tmp_path.iterdir()] == []


def test_photos_from_elsewhere_are_copied_once_and_never_over_another(tmp_path: Path) -> None:
    folder = panel(tmp_path)
    for place, content in (("one", "powder"), ("two", "another")):
        (tmp_path / place).mkdir()
        (tmp_path / place / "p:1.jpg").write_text(content)
    first = kept_file(folder, tmp_path / "one" / "p:1.jpg", "photos", "--photo")
    assert first == "photos/p-1.jpg"
    assert kept_file(folder, tmp_path / "one" / "p:1.jpg", "photos", "--photo") == first
    second = kept_file(folder, tmp_path / "two" / "p:1.jpg", "photos", "--photo")
    assert second == "photos/p-1-2.jpg"
    assert [(folder / name).read_text() for name in (first, second)] == ["powder", "another"]
    assert kept_file(folder, folder / second, "photos", "--photo") == second


def test_a_photo_that_is_none_is_refused(tmp_path: Path) -> None:
    folder = panel(tmp_path)
    for source in (tmp_path / "missing.jpg", tmp_path, Path("/dev/zero")):
        with pytest.raises(InputError, match=r"^--photo: "):
            kept_file(folder, source, "photos", "--photo")
    assert not (folder / "photos").exists()


def add_at_once(folder: Path, writers: int, entries: int) -> set[str]:
    """Let several programs add at once, and return the stamps that they said."""
    programs = [writer(folder, number, entries) for number in range(writers)]
    said = [program.communicate()[0].split() for program in programs]
    assert [program.returncode for program in programs] == [0] * writers
    return {stamp for stamps in said for stamp in stamps}


def expect_all_entries(folder: Path, stamps: set[str], writers: int, entries: int) -> None:
    found = read_entries(folder)
    assert {name.removesuffix(".toml") for name in found} == stamps
    notes = {(entry.note or "").partition(" ")[0] for entry in found.values()}
    assert notes == {f"{w}/{n}" for w in range(writers) for n in range(entries)}


@pytest.mark.parametrize(("writers", "entries"), [(3, 10), pytest.param(8, 100, marks=pytest.mark.slow)])
def test_programs_adding_at_once_lose_nothing(tmp_path: Path, writers: int, entries: int) -> None:
    folder = panel(tmp_path)
    stamps = add_at_once(folder, writers, entries)
    assert len(stamps) == writers * entries
    expect_all_entries(folder, stamps, writers, entries)


@pytest.mark.parametrize("kills", [2, pytest.param(200, marks=pytest.mark.slow)])
def test_a_program_killed_at_any_moment_leaves_no_half_entry_and_loses_none_it_told_of(
    tmp_path: Path, kills: int
) -> None:
    folder, chance = panel(tmp_path), random.Random(5)
    told: set[str] = set()
    for number in range(kills):
        program = writer(folder, number, 100_000)
        assert program.stdout is not None
        told.add(program.stdout.readline().strip())
        time.sleep(chance.uniform(0.0, 0.05))
        program.kill()
        told |= {line.strip() for line in program.communicate()[0].splitlines(keepends=True) if "\n" in line}
    entries = {name.removesuffix(".toml"): entry for name, entry in read_entries(folder).items()}
    assert told <= set(entries)
    assert all((entry.note or "").endswith("bouts ") for entry in entries.values())
    assert len(entries) - len(told) <= kills  # of each program at most the one it was about to tell of
