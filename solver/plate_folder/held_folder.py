"""One at a time: who changes a plate's folder holds it meanwhile, and the system lets go of it when a program is ended."""

import hashlib
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from solver.core.atomic_write import UnwritableError
from solver.core.errors import InputError

_PATIENCE_S = 20.0
_LOOK_S = 0.004

if sys.platform == "win32":
    import msvcrt

    _USER = ""  # whose folder of temporary files it is

    def _lock(handle: int) -> None:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            raise BlockingIOError(error.errno, error.strerror) from error

    def _unlock(handle: int) -> None:
        os.lseek(handle, 0, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)
else:
    import fcntl

    _USER = f"{os.getuid()}-"

    def _lock(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def _unlock(handle: int) -> None:
        fcntl.flock(
            handle, fcntl.LOCK_UN
        )  # not by closing alone: a copy of this process may have a copy of the handle


class HeldError(InputError):
    """Another program is at it."""


@contextmanager
def held(folder: Path, patience_s: float = _PATIENCE_S) -> Iterator[None]:
    """Hold a folder against all other programs, and other threads of this one, that hold it before they write.

    Raises
    ------
    HeldError
        If another is still at it after ``patience_s``.
    UnwritableError
        If it cannot be held at all.
    """
    end = time.monotonic() + patience_s
    try:
        while (handle := _taken(folder)) is None:
            if time.monotonic() > end:
                raise HeldError(
                    f"{folder}: another program has been writing into it for {patience_s:.0f} seconds; expected it to end. "
                    "Wait for it or stop it, then try again."
                )
            time.sleep(_LOOK_S)
    except OSError as error:
        raise UnwritableError(folder, error.strerror or str(error)) from error
    try:
        yield
    finally:
        _unlock(handle)
        os.close(handle)


def _taken(folder: Path) -> int | None:
    """Return a handle by which the folder is held, None where another holds it; raises OSError if it cannot be held."""
    try:
        return _locked(os.open(folder, os.O_RDONLY))
    except (
        OSError
    ):  # Windows opens no folders, and some shares lock none: a file in their place is held on this computer
        return _locked(os.open(_in_its_place(folder), os.O_RDWR | os.O_CREAT, 0o600))


def _locked(handle: int) -> int | None:
    try:
        _lock(handle)
    except BlockingIOError:
        os.close(handle)
        return None
    except OSError:
        os.close(handle)
        raise
    return handle


def _in_its_place(folder: Path) -> Path:
    mark = hashlib.sha256(str(folder.resolve()).encode(errors="surrogateescape")).hexdigest()[:16]
    return Path(tempfile.gettempdir()) / f"platewright-{_USER}{mark}.held"
