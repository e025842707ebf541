"""Writing to disk so that what is asked for is there whole, or not at all, and stays when the power fails."""

import os
import shutil
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from solver.core.errors import InputError

PART = ".platewright-"
"""How everything begins that is still being written; who reads a folder passes over it."""

_LEFTOVER_S = 3600.0
"""Age [s] from which such a thing is left from a program that was ended."""


class UnwritableError(InputError):
    """Nothing can be written in a folder; ``reason`` is what the operating system says."""

    def __init__(self, folder: Path, reason: str) -> None:
        """Put the folder and the reason into a sentence."""
        super().__init__(
            f"{folder}: nothing can be written there ({reason}); expected a folder with room and the right "
            "to write. Free some room, or choose another place."
        )
        self.reason = reason


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """Lend a file name to write to, and move the file to ``path`` once it is on the disk.

    Raises
    ------
    UnwritableError
        If the disk is full or the rights are lacking; then what stood at ``path`` before still stands there.
    """
    if path.is_dir():
        raise InputError(f"{path}: it is a folder; expected the name of a file to write. Add a file name.")
    with whole_folder(path.parent) as part:
        yield part / path.name


@contextmanager
def whole_folder(folder: Path, last: str = "") -> Iterator[Path]:
    """Lend an empty folder to fill, and move its files to ``folder`` once all of them are on the disk.

    A folder that is not there yet comes at once. Into one that is there the files are moved one by one, and ``last`` the
    one that names the others; files of the same name are replaced, others stay.

    Raises
    ------
    UnwritableError
        If the disk is full or the rights are lacking; then ``folder`` is as it was before.
    """
    place: Path | None = None
    try:
        # On the same disk as the folder, so that moving is one step and cannot fail for lack of space.
        beside = _nearest_there(folder)
        clear_leftovers(beside)
        place = Path(tempfile.mkdtemp(prefix=PART, dir=beside))
        part = place / "whole"
        part.mkdir()
        yield part
        files = sorted(path.relative_to(part) for path in part.rglob("*") if path.is_file())
        for file in files:
            settle_file(part / file)
        _move(part, sorted(files, key=lambda file: file.as_posix() == last), folder)
    except OSError as error:
        raise UnwritableError(folder, error.strerror or str(error)) from error
    except UnwritableError as error:
        # From a folder lent inside this one: the maker knows this one.
        raise UnwritableError(folder, error.reason) from error
    finally:
        if place is not None:
            shutil.rmtree(place, ignore_errors=True)


def _move(part: Path, files: list[Path], folder: Path) -> None:
    """Move what was written to where it belongs, and wait until the names are on the disk too."""
    made = [path for path in folder.absolute().parents if path.is_relative_to(_nearest_there(folder))]
    if files and not folder.exists():
        _settle_all(path for path in (*part.rglob("*"), part) if path.is_dir())
        folder.parent.mkdir(parents=True, exist_ok=True)
        with suppress(OSError):  # another program may have made it meanwhile
            part.rename(folder)
            files = []
    places = sorted({folder / above for file in files for above in file.parents})
    for file in files:
        if len(files) > 1 and file == files[-1]:
            _settle_all(places)  # what the last one names is there before it
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        (part / file).replace(folder / file)
    _settle_all((*places, *made))


def _settle_all(places: Iterable[Path]) -> None:
    for place in places:
        settle_entries(place)


def clear_leftovers(folder: Path) -> None:
    """Clear away what programs left in a folder that were ended while they wrote."""
    for left in folder.glob(f"{PART}*"):
        with suppress(OSError):  # another program may be clearing it away as well
            if time.time() - left.stat().st_mtime < _LEFTOVER_S:
                continue
            shutil.rmtree(left) if left.is_dir() else left.unlink()


def _nearest_there(folder: Path) -> Path:
    """Return the folder, or the nearest above it that exists."""
    return next(path for path in (folder.absolute(), *folder.absolute().parents) if path.exists())


def settle_file(file: Path) -> None:
    """Wait until a file is on the disk: some disks tell only then that they are full."""
    with file.open("r+b") as handle:
        os.fsync(handle.fileno())


def settle_entries(folder: Path) -> None:
    """Wait until the names in a folder are on the disk; Windows opens no folders and sees to it by itself."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
