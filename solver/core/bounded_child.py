"""The process in which a file of unknown origin is read: ``python -P -m solver.core.bounded_child``.

`bounded_reading` begins it. It takes a pickled order from its standard input and answers with one pickled message for each
file. A hostile file may make a library run for ever, fill the memory or crash: that ends this process, and no other.
"""

import contextlib
import os
import pickle
import sys
import threading
import time
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path
from typing import BinaryIO, Literal

from solver.core.errors import InputError

MOST_SECONDS = 20
"""Of processor time for each file; where the system sets no such limits, of the clock."""

MOST_BYTES = 1_000_000_000
"""Of memory beyond what the process has when it begins."""

OVERTIME = 9
"""Exit code where the process itself sees that its time is over."""

Outcome = Literal["done", "refused", "flooded", "slow", "late", "failed"]
"""What became of a file; ``slow`` and ``late`` (by the clock) are not sent, for the process has ended then."""

Message = tuple[Outcome, object]
"""What became of a file, with its content, a sentence, or the name of the fault."""

_PARENT_DIES = 1
"""PR_SET_PDEATHSIG of prctl(2)."""


def main() -> None:
    """Read the files of the order one by one; the first that cannot be read is the last."""
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # what a library prints is no answer
    parent, function, files = pickle.load(sys.stdin.buffer)
    bind_to(parent)
    answer_all(function, files, answers)


def answer_all(function: str, files: Sequence[tuple[object, ...]], answers: BinaryIO) -> None:
    """Call ``module:function`` with what stands for each file, and send what comes of it."""
    limit_memory()
    watch_clock(MOST_SECONDS * len(files))
    for arguments in files:
        grant_time()
        message = _answer(function, arguments)
        pickle.dump(message, answers, pickle.HIGHEST_PROTOCOL)
        answers.flush()
        if message[0] != "done":
            break


def _answer(function: str, arguments: tuple[object, ...]) -> Message:
    module, _, name = function.partition(":")
    try:
        read: Callable[..., object] = getattr(import_module(module), name)
        return "done", read(*arguments)
    except InputError as error:
        return "refused", str(error)
    except MemoryError:
        return "flooded", None
    except Exception as error:  # what a library stumbles over is not foreseen, and one sentence all the same
        return "failed", type(error).__name__


def bind_to(parent: int) -> None:
    """See to it that this process does not outlive the one that began it."""
    if sys.platform != "linux":
        return
    import ctypes
    import signal

    ctypes.CDLL(None).prctl(_PARENT_DIES, signal.SIGKILL)
    if os.getppid() != parent:  # it has died already
        os._exit(OVERTIME)


def limit_memory() -> None:
    """Bound what this process may take from now on."""
    if sys.platform == "linux":
        import resource

        taken = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
        _lower(resource.RLIMIT_AS, taken + MOST_BYTES)


def grant_time() -> None:
    """Give the next file its processor time."""
    if sys.platform == "linux":
        import resource

        _lower(resource.RLIMIT_CORE, 0)
        _lower(resource.RLIMIT_CPU, int(time.process_time()) + 1 + MOST_SECONDS)


def watch_clock(seconds: int) -> None:
    """End this process after so many seconds where the system does not count its processor time."""
    if sys.platform != "linux":
        watch = threading.Timer(seconds, os._exit, [OVERTIME])
        watch.daemon = True
        watch.start()


def _lower(limit: int, value: int) -> None:
    import resource

    with contextlib.suppress(ValueError):  # a lower one is set from outside: then that holds
        resource.setrlimit(limit, (value, resource.getrlimit(limit)[1]))


if __name__ == "__main__":
    main()
