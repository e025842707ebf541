"""Changing several files of a plate's folder as one act: all of them or none, whenever the program is ended.

What is to be written is laid down first, beside what it replaces, in a record (`RECORD`). By its coming, which is one step,
the act is done; to move the files to their places is left. Who opens the folder next does that for a program that was ended
meanwhile, and where nothing may be written the files of the record are read in the place of the old ones (`place_of`).
"""

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from meshes.input_file import file_bytes
from solver.core.atomic_write import PART, UnwritableError, settle_entries, whole_file, whole_folder
from solver.plate_folder.act_schema import ActTable, WrittenTable
from solver.plate_folder.held_folder import HeldError, held
from solver.plate_folder.inside import ACT_FILE, AFTER, RECORD, file_in
from solver.plate_folder.toml_file import read_toml

_BEFORE = "before"
_READER_WAITS_S = 5.0


def write_together(
    folder: Path, files: Mapping[str, bytes], check: Callable[[], object] = lambda: None
) -> None:
    """Write files of a plate's folder, by their names in it, all of them or none; the last names the others.

    ``check`` is called when nobody else writes there any more, and raises InputError if the folder is not as it was known.

    Raises
    ------
    UnwritableError
        If nothing can be written there; then the folder is as it was before.
    """
    for name in files:
        file_in(folder, name, "file")
    with changing(folder):
        check()
        if len(files) > 1:
            _record(folder, files)
            _done_or_taken_back(folder)
        else:
            for name, content in files.items():
                with whole_file(folder / name) as part:
                    part.write_bytes(content)


@contextmanager
def changing(folder: Path) -> Iterator[None]:
    """Hold a plate's folder, in which nothing is left to be finished, while it is changed."""
    with held(folder):
        try:
            _finish(folder)
        except OSError as error:
            raise UnwritableError(folder, error.strerror or str(error)) from error
        yield


def settle(folder: Path) -> None:
    """Finish what a program had begun to write when it was ended; where that cannot be done, `place_of` sees to it.

    Raises InputError if the record of it cannot be understood.
    """
    if not (folder / RECORD / ACT_FILE).exists():
        return
    with suppress(HeldError, UnwritableError, OSError), held(folder, _READER_WAITS_S):
        _finish(folder)


def _record(folder: Path, files: Mapping[str, bytes]) -> None:
    """Lay down what is to be written and what stands there now, so that it is done or undone by whoever comes next."""
    lines = ["# What a program was about to write; it is finished when the plate is opened.", "format = 1"]
    _away(folder)
    try:
        with whole_folder(folder / RECORD, ACT_FILE) as record:
            for name, content in files.items():
                _lay(record / AFTER / name, content)
                lines += ["", "[[files]]", f"name = {json.dumps(name)}", f'after = "{_digest(content)}"']
                if (folder / name).exists():
                    present = file_bytes(folder / name)
                    _lay(record / _BEFORE / name, present)
                    lines.append(f'before = "{_digest(present)}"')
            _lay(record / ACT_FILE, ("\n".join(lines) + "\n").encode())
    except UnwritableError as error:
        raise UnwritableError(folder, error.reason) from error


def _lay(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)


def _done_or_taken_back(folder: Path) -> None:
    """Finish the act that was recorded; if that fails, take it back and raise UnwritableError."""
    try:
        _finish(folder)
    except OSError as error:
        with suppress(OSError):
            _take_back(folder, _written(folder))
            _away(folder)
        raise UnwritableError(folder, error.strerror or str(error)) from error


def _finish(folder: Path) -> None:
    """Do what is left of a recorded act, if there is one, while nobody else does.

    If a file was changed by hand since, nobody knows what it was to become: then all the others are as they were before.
    """
    if not (folder / RECORD / ACT_FILE).exists():
        return
    files = _written(folder)
    present = {file.name: _digest_of(folder / file.name) for file in files}
    if all(present[file.name] in (file.before, file.after) for file in files):
        for file in files:
            if present[file.name] != file.after:
                _move(folder / RECORD / AFTER / file.name, folder / file.name)
    else:
        _take_back(folder, files)
    _away(folder)


def _written(folder: Path) -> tuple[WrittenTable, ...]:
    """Return the files of the recorded act, none of which leads out of the folder."""
    files = read_toml(folder / RECORD / ACT_FILE, ActTable, f"{RECORD}/{ACT_FILE}").files
    for file in files:
        file_in(folder, file.name, f"{RECORD}/{ACT_FILE}: name")
    return files


def _take_back(folder: Path, files: tuple[WrittenTable, ...]) -> None:
    """Put every file that the act has written back as it was; what else was done to them stays."""
    for file in reversed(files):
        path = folder / file.name
        if _digest_of(path) != file.after or file.after == file.before:
            continue
        if file.before is None:
            path.unlink()
            settle_entries(path.parent)
        else:
            _move(folder / RECORD / _BEFORE / file.name, path)


def _away(folder: Path) -> None:
    """Put the record away: in one step, for from then on nobody looks at it."""
    record, gone = folder / RECORD, folder / f"{PART}{os.urandom(6).hex()}"
    with suppress(FileNotFoundError):
        record.rename(gone)
        settle_entries(folder)
    shutil.rmtree(gone, ignore_errors=True)


def _move(source: Path, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    source.replace(target)
    settle_entries(target.parent)
    settle_entries(target.parent.parent)


def _digest_of(path: Path) -> str | None:
    return _digest(file_bytes(path)) if path.exists() else None


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
