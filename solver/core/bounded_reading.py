"""Drawings, photos and sound are read in a bounded process: what hangs, floods or crashes its reader costs one sentence.

The libraries for them are large, and partly written in languages in which a damaged file can do anything. What the process
may use stands in `bounded_child`; what it sends is only ever read from that process of our own.
"""

import io
import os
import pickle
import signal
import subprocess
import sys
import threading
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import cast

from solver.core.bounded_child import MOST_BYTES, MOST_SECONDS, OVERTIME, Message, Outcome
from solver.core.errors import InputError

_PLACES = threading.BoundedSemaphore(4)
"""Processes side by side; a crowd of large files waits, so that all of them together are bounded too."""

_PATIENCE_S = 6 * MOST_SECONDS if sys.platform == "linux" else MOST_SECONDS + 4
"""By the clock for each file, for a process that sleeps; a good file on a busy computer must not run into it."""

_ROOT = Path(__file__).parents[2]


class OverboundError(InputError):
    """A file asked for more time or memory than reading it may take; it would do so again."""


@dataclass(frozen=True)
class Kind:
    """How sentences speak of a kind of file: what was ``expected``, and the ``cure``."""

    expected: str
    cure: str


@dataclass(frozen=True)
class BoundedFile:
    """A file to be read: how sentences call it, and what its reader is called with."""

    name: str
    arguments: tuple[object, ...]


class BoundedReading:
    """Files being read in a process of its own; leaving the ``with`` block ends it, whatever happens."""

    def __init__(self, reader: str, files: Sequence[BoundedFile], kind: Kind) -> None:
        """Begin to read files, each by the function ``module:function``, which raises InputError to refuse one."""
        self._files, self._kind = files, kind
        _PLACES.acquire()
        try:
            self.process = _begun(reader, files)
        except BaseException:
            _PLACES.release()
            raise

    def __enter__(self) -> "BoundedReading":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.process.kill()
        self.process.wait()
        if self.process.stdout is not None:
            self.process.stdout.close()
        _PLACES.release()

    def result(self) -> tuple[object, ...]:
        """Return what was read of each file.

        Raises
        ------
        InputError
            If one of them is refused, or takes more than it may (OverboundError), or breaks its reader.
        """
        try:
            answered, _ = self.process.communicate(timeout=_PATIENCE_S * len(self._files))
        except subprocess.TimeoutExpired:
            self.process.kill()
            answered, _ = self.process.communicate()
        return read_of(self._files, self._kind, answered, self.process.returncode)


def read_of(files: Sequence[BoundedFile], kind: Kind, answered: bytes, code: int) -> tuple[object, ...]:
    """Return what a process that ended with ``code`` has read; raises InputError if that is not all."""
    values, stream = [], io.BytesIO(answered)
    for file in files:
        try:
            became, value = cast("Message", pickle.load(stream))
        except (EOFError, pickle.UnpicklingError):  # nothing, or half of an answer
            became, value = _ended(code), f"signal {-code}" if code < 0 else f"exit code {code}"
        if became != "done":
            raise _refusal(file, kind, became, str(value))
        values.append(value)
    return tuple(values)


def _ended(code: int) -> Outcome:
    """Tell what a process ran into that gave no answer."""
    if code in (OVERTIME, -getattr(signal, "SIGXCPU", 0)):
        return "slow"
    return "late" if code == -getattr(signal, "SIGKILL", 0) else "failed"


def _refusal(file: BoundedFile, kind: Kind, became: Outcome, said: str) -> InputError:
    expected = f"expected {kind.expected}. {kind.cure}"
    if became == "refused":
        return InputError(said)
    if became == "flooded":
        return OverboundError(
            f"{file.name}: to read it would take more than {MOST_BYTES // 10**9} GB of memory; {expected}"
        )
    if became == "slow":
        return OverboundError(f"{file.name}: to read it would take more than {MOST_SECONDS} s; {expected}")
    if became == "late":
        return InputError(
            f"{file.name}: it was not read within {_PATIENCE_S} s; {expected} If the computer is busy, try again later."
        )
    return InputError(f"{file.name}: what reads it broke down over it ({said}); {expected}")


def _begun(reader: str, files: Sequence[BoundedFile]) -> "subprocess.Popen[bytes]":
    """Return the process that reads files, its order given."""
    process = subprocess.Popen(
        [sys.executable, "-P", "-m", "solver.core.bounded_child"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env=_environment(),
        creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
    )
    order = pickle.dumps((os.getpid(), reader, [file.arguments for file in files]))
    assert process.stdin is not None
    with suppress(BrokenPipeError), process.stdin as pipe:  # it has ended already: `result` tells
        pipe.write(order)
    process.stdin = None
    return process


def _environment() -> dict[str, str]:
    """Return the environment of the process: our own modules found first, and one thread, whose memory is bounded too."""
    paths = [str(_ROOT), *filter(None, [os.environ.get("PYTHONPATH")])]
    return {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(paths),
        "OPENBLAS_NUM_THREADS": "1",
        "OMP_NUM_THREADS": "1",
    }
