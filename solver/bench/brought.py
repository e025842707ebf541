"""A recording or photo brought to the page: it waits in a folder of its own, outside the plate's."""

import os
import re
import shutil
import socket
import stat
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from solver.core.errors import InputError

_PREFIX = "platewright-bench-"
_PLACE = re.compile(rf"{_PREFIX}(\d{{1,5}})-\w+")


@dataclass(frozen=True, eq=False)
class Brought:
    """A file that the maker brought, and the folder that goes with it."""

    path: Path
    place: "tempfile.TemporaryDirectory[str]"


@contextmanager
def called_by_name(path: Path) -> Iterator[None]:
    """Let sentences about a file that was brought call it by its name alone: the maker never saw where it waits."""
    try:
        yield
    except InputError as error:
        raise InputError(str(error).replace(f"{path.parent}{os.sep}", "")) from None


def waiting_place(port: int) -> "tempfile.TemporaryDirectory[str]":
    """Return a new folder in which a file may wait, named by the port of the bench to which it was brought."""
    return tempfile.TemporaryDirectory(prefix=f"{_PREFIX}{port}-", ignore_cleanup_errors=True)


def clear_abandoned(port: int) -> None:
    """Clear away what a bench that was killed left waiting, at its start on ``port``.

    Only one bench can have a port: what waits under this one, or one at which nobody answers, belongs to none that lives.
    """
    for path in Path(tempfile.gettempdir()).glob(f"{_PREFIX}*"):
        named = _PLACE.fullmatch(path.name)
        if named and _is_own_folder(path) and (int(named[1]) == port or not _answers(int(named[1]))):
            shutil.rmtree(path, ignore_errors=True)


def _is_own_folder(path: Path) -> bool:
    """Tell whether it is a folder, no link to one, that this user made."""
    try:
        entry = path.lstat()
    except OSError:
        return False
    return stat.S_ISDIR(entry.st_mode) and getattr(os, "getuid", lambda: entry.st_uid)() == entry.st_uid


def _answers(port: int) -> bool:
    """Tell whether a program of this computer listens at a port."""
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=0.5):
            return True
    except (OSError, OverflowError):
        return False
