"""Several files of a plate's folder written as one act: all of them or none, at whatever step the program is ended."""

import errno
import multiprocessing
import os
import signal
import tempfile
import threading
import time
from pathlib import Path

import pytest

from solver.core.atomic_write import UnwritableError, whole_folder
from solver.core.errors import InputError
from solver.plate_folder import description
from solver.plate_folder.act import settle, write_together
from solver.plate_folder.description import read_entries
from solver.plate_folder.held_folder import HeldError, held
from solver.plate_folder.inside import ACT_FILE, AFTER, RECORD, file_in, places_in
from solver.plate_folder.schema import LogEntry
from tests.plate_folders import panel_files, write_folder
from tests.rights import open_to_all, read_only
from tests.trials.fatal_step import in_a_process

posix = pytest.mark.skipif(os.name == "nt", reason="processes and rights of POSIX")
OLD = {"plate.toml": b"old name", "kept.csv": b"1,2\n"}
NEW = {"log/a.toml": b"entry", "deep/new.csv": b"3,4\n", "plate.toml": b"new name"}


def folder_in(place: Path) -> Path:
    folder = place / "plate"
    folder.mkdir()
    for name, content in OLD.items():
        (folder / name).write_bytes(content)
    return folder


def standing(folder: Path) -> dict[str, bytes]:
    """Return what a reader finds, wherever it lies."""
    names = [
        *OLD,
        *(f"{place}/{path.name}" for place in ("log", "deep") for path in places_in(folder, place)),
    ]
    return {name: file_in(folder, name, "file").read_bytes() for name in names}


def lying(folder: Path) -> dict[str, bytes]:
    """Return what lies in the folder, leftovers that are swept later left out."""
    files = (path for path in folder.rglob("*") if path.is_file())
    named = {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}
    return {name: content for name, content in named.items() if not name.startswith(".platewright-")}


def begun(folder: Path) -> None:
    """Leave an act that was recorded and not finished."""
    for fatal in range(1, 200):
        in_a_process(lambda: act(folder), folder, fatal)
        if (folder / RECORD / ACT_FILE).exists():
            return
    raise AssertionError("never recorded")


def act(folder: Path) -> int:
    write_together(folder, NEW)
    return 200


def test_all_is_written_and_nothing_is_left_over(tmp_path: Path) -> None:
    folder = folder_in(tmp_path)
    write_together(folder, NEW)
    assert lying(folder) == OLD | NEW
    assert not [path for path in folder.iterdir() if path.name.startswith(".")]


@posix
def test_killed_at_any_step_it_is_done_or_not_and_asked_again_it_is_done() -> None:
    with open_to_all() as place:
        folder, outcomes, fatal = folder_in(place), [], 0
        while True:
            fatal += 1
            ended = in_a_process(lambda: act(folder), folder, fatal)
            with read_only(folder):
                seen = standing(folder)
            settle(folder)
            assert seen == lying(folder) == standing(folder)
            assert seen in (OLD, OLD | NEW)
            outcomes.append(seen == OLD)
            if ended.status is not None:
                break
            write_together(folder, NEW)
            assert lying(folder) == OLD | NEW
            for path in sorted(
                (*(folder / name for name in NEW), folder / "deep", folder / "log"), reverse=True
            ):
                path.rmdir() if path.is_dir() else path.unlink()
            (folder / "plate.toml").write_bytes(OLD["plate.toml"])
    assert outcomes == sorted(outcomes, reverse=True)  # there is one step by which it is done
    assert {True, False} == {*outcomes}
    assert len(outcomes) > 25


@posix
def test_what_was_changed_by_hand_meanwhile_stays_and_the_rest_is_as_it_was(tmp_path: Path) -> None:
    folder = folder_in(tmp_path)
    begun(folder)
    (folder / "log").mkdir(exist_ok=True)
    (folder / RECORD / AFTER / "log/a.toml").replace(folder / "log/a.toml")  # one was moved before the end
    (folder / "plate.toml").write_bytes(b"by hand")
    settle(folder)
    assert lying(folder) == OLD | {"plate.toml": b"by hand"}


@posix
def test_while_another_program_is_at_it_nothing_is_finished_and_nothing_begun(tmp_path: Path) -> None:
    folder = folder_in(tmp_path)
    begun(folder)
    taken, free = multiprocessing.Event(), multiprocessing.Event()

    def hold() -> None:
        with held(folder):
            taken.set()
            free.wait(30)

    holder = multiprocessing.get_context("fork").Process(target=hold)
    holder.start()
    assert taken.wait(30)
    with pytest.raises(HeldError, match="another program has been writing into it"), held(folder, 0.05):
        pass
    assert (folder / RECORD).exists()
    assert holder.pid is not None
    os.kill(holder.pid, signal.SIGKILL)  # the system lets go for it
    holder.join()
    settle(folder)
    assert lying(folder) == OLD | NEW


def test_of_two_that_begin_at_once_one_waits_for_the_other(tmp_path: Path) -> None:
    folder, order = folder_in(tmp_path), []

    def slowly() -> None:
        order.append("begun")
        time.sleep(0.05)
        order.append("looked")

    threads = [threading.Thread(target=write_together, args=(folder, NEW, slowly)) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert order == ["begun", "looked"] * 3


def test_where_no_folder_can_be_held_a_file_in_its_place_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, opened = folder_in(tmp_path), os.open

    def no_folders(path: os.PathLike[str] | str, flags: int, mode: int = 0o777) -> int:
        if Path(path).is_dir():
            raise PermissionError(errno.EACCES, "Permission denied")
        return opened(path, flags, mode)

    monkeypatch.setattr(os, "open", no_folders)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    with held(folder), pytest.raises(HeldError), held(folder, 0.05):
        pass
    write_together(folder, NEW)
    assert lying(folder) == OLD | NEW


@posix
def test_the_record_is_on_the_disk_before_the_act_is_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, settled, fsync, rename = folder_in(tmp_path), set(), os.fsync, Path.rename
    laid: list[str] = []

    def noted(handle: int) -> None:
        settled.add(os.fstat(handle).st_ino)
        fsync(handle)

    def watched(part: Path, target: Path) -> Path:
        if target == folder / RECORD:
            laid.extend(path.name for path in (part, *part.rglob("*")) if path.stat().st_ino in settled)
            assert len(laid) == 1 + len([*part.rglob("*")])
            settled.clear()
        return rename(part, target)

    monkeypatch.setattr(os, "fsync", noted)
    monkeypatch.setattr(Path, "rename", watched)
    write_together(folder, NEW)
    assert {"whole", ACT_FILE, "a.toml", "new.csv", "plate.toml", "before"} <= {*laid}
    assert {place.stat().st_ino for place in (folder, folder / "log", folder / "deep")} <= settled


def test_plate_and_log_are_read_as_of_one_moment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = write_folder(tmp_path / "panel", panel_files())
    files = {
        "log/a.toml": b"taken = 2026-03-14T19:05:00Z\n",
        "plate.toml": (folder / "plate.toml").read_bytes().replace(b"uniform_mm = 3.0", b"uniform_mm = 2.5"),
    }
    looks: list[int] = []

    def meanwhile(place: Path) -> dict[str, LogEntry]:
        looks.append(1)
        if len(looks) == 1:
            write_together(place, files)  # by another program, after plate.toml was read
        return read_entries(place)

    monkeypatch.setattr(description, "read_entries", meanwhile)
    read = description.read_description(folder)
    assert (read.table.thickness.uniform_mm, len(read.log), len(looks)) == (2.5, 1, 2)


def test_what_the_check_refuses_is_not_written(tmp_path: Path) -> None:
    folder = folder_in(tmp_path)

    def refuse() -> None:
        raise InputError("it has changed")

    with pytest.raises(InputError, match="it has changed"):
        write_together(folder, NEW, refuse)
    assert lying(folder) == OLD


@pytest.mark.parametrize("which", range(6))
def test_a_disk_that_fails_in_the_middle_leaves_all_as_it_was(
    which: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, moved, replace = folder_in(tmp_path), [], Path.replace

    def failing(source: Path, target: Path) -> Path:
        moved.append(source)
        if len(moved) == which + 1:
            raise OSError(errno.EIO, "Input/output error")
        return replace(source, target)

    monkeypatch.setattr(Path, "replace", failing)
    if which < len(NEW):
        with pytest.raises(UnwritableError, match="Input/output error"):
            write_together(folder, NEW)
        assert lying(folder) == OLD
    else:
        write_together(folder, NEW)
    write_together(folder, NEW)
    assert lying(folder) == OLD | NEW


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('format = 1\n[[files]]\nname = "../x"\nafter = "{}"\n', "expected a file inside the plate's folder"),
        ("format = 1\n", "files is missing"),
        ("half a fi", "is not valid TOML"),
    ],
)
def test_a_record_that_is_none_is_told_of(text: str, said: str, tmp_path: Path) -> None:
    folder = folder_in(tmp_path)
    (folder / RECORD).mkdir()
    (folder / RECORD / ACT_FILE).write_text(text.replace("{}", 64 * "a"))
    with pytest.raises(InputError, match=said):
        settle(folder)
    assert (folder / "plate.toml").read_bytes() == OLD["plate.toml"]


def test_the_file_that_names_the_others_comes_last_and_the_folders_are_on_the_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, done, replace, opened = folder_in(tmp_path), [], Path.replace, os.open

    def moved(source: Path, target: Path) -> Path:
        done.append(f"move {target.relative_to(folder).as_posix()}")
        return replace(source, target)

    def looked(path: os.PathLike[str] | str, flags: int, *more: int) -> int:
        if Path(path).is_dir() and Path(path).is_relative_to(folder) and "whole" not in Path(path).parts:
            done.append(f"sync {Path(path).relative_to(folder).as_posix()}")
        return opened(path, flags, *more)

    monkeypatch.setattr(Path, "replace", moved)
    monkeypatch.setattr(os, "open", looked)
    with whole_folder(folder, "plate.toml") as part:
        for name in ("plate.toml", "thickness.csv", "zone/x.csv"):
            (part / name).parent.mkdir(exist_ok=True)
            (part / name).write_text(name)
    assert done[:2] == ["move thickness.csv", "move zone/x.csv"]
    assert {*done[2:4]} == {"sync .", "sync zone"}
    assert done[4] == "move plate.toml"
    assert {*done[5:]} == {"sync .", "sync zone"}
