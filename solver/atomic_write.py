"""Writing to disk so that what is asked for is there whole, or not at all."""

import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from solver.errors import InputError

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
def whole_folder(folder: Path) -> Iterator[Path]:
    """Lend an empty folder to fill, and move its files to ``folder`` once all of them are on the disk.

    Files of the same name are replaced, others stay. A folder that is not there yet is made.

    Raises
    ------
    UnwritableError
        If the disk is full or the rights are lacking; then ``folder`` is as it was before.
    """
    part: Path | None = None
    try:
        # On the same disk as the folder, so that moving is one step and cannot fail for lack of space.
        beside = _nearest_there(folder)
        clear_leftovers(beside)
        part = Path(tempfile.mkdtemp(prefix=PART, dir=beside))
        yield part
        files = sorted(path.relative_to(part) for path in part.rglob("*") if path.is_file())
        for file in files:
            _settle(part / file)
        for file in files:
            (folder / file).parent.mkdir(parents=True, exist_ok=True)
            (part / file).replace(folder / file)
    except OSError as error:
        raise UnwritableError(folder, error.strerror or str(error)) from error
    except UnwritableError as error:
        # From a folder lent inside this one: the maker knows this one.
        raise UnwritableError(folder, error.reason) from error
    finally:
        if part is not None:
            shutil.rmtree(part, ignore_errors=True)


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


def _settle(file: Path) -> None:
    """Wait until a file is on the disk: some disks tell only then that they are full."""
    with file.open("r+b") as handle:
        os.fsync(handle.fileno())
