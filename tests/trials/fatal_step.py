"""A process that is killed at a step of its own choosing: before the nth thing that it does to the files of a folder."""

import os
import signal
import sys
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

_NAMING = {"os.rename", "os.link", "os.mkdir", "os.remove", "os.rmdir", "os.truncate", "shutil.rmtree"}
_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT


class FatalStep:
    """Counts opening for writing, half-written files, waits for the disk, new names and removals in a folder.

    ``fatal`` is the count at which the process is killed, 0 for none; ``begun`` is called at the first.
    """

    def __init__(self, folder: Path, fatal: int, begun: Callable[[], object]) -> None:
        self.count = 0
        self._folder, self._fatal, self._begun = str(folder), fatal, begun
        self._fsync = os.fsync
        sys.addaudithook(self._heard)
        for holder, name, stand_in in (
            (os, "fsync", self._settle),
            (Path, "write_bytes", lambda path, content: self._in_halves(path, content)),
            (Path, "write_text", lambda path, text, **_: self._in_halves(path, text.encode())),
        ):
            setattr(holder, name, stand_in)

    def _step(self) -> None:
        self.count += 1
        if self.count == 1:
            self._begun()
        if self.count == self._fatal:
            os.kill(os.getpid(), signal.SIGKILL)

    def _heard(self, event: str, arguments: tuple[object, ...]) -> None:
        if event == "open":
            flags = arguments[2]
            if isinstance(flags, int) and flags & _WRITING and self._is_ours(arguments[0]):
                self._step()
        elif event in _NAMING and any(self._is_ours(argument) for argument in arguments[:2]):
            self._step()

    def _is_ours(self, path: object) -> bool:
        """Tell whether a path lies in the folder; a relative one is of a folder that is being removed."""
        if not isinstance(path, str | os.PathLike):
            return False
        text = os.fspath(path)
        return isinstance(text, str) and (text.startswith(self._folder) or not text.startswith("/"))

    def _settle(self, handle: int) -> None:
        self._step()
        self._fsync(handle)

    def _in_halves(self, path: Path, content: bytes) -> int:
        with path.open("wb") as file:
            file.write(content[: len(content) // 2])
            file.flush()
            if self._is_ours(path):
                self._step()
            file.write(content[len(content) // 2 :])
        return len(content)


@dataclass(frozen=True)
class Ended:
    """How an act went: its answer if it came to one, the steps it took, and how long after the first of them."""

    status: int | None
    steps: int
    seconds: float


def in_a_process(act: Callable[[], int], folder: Path, fatal: int = 0, delay_s: float | None = None) -> Ended:
    """Do something in a copy of this process, which is killed at a step, or so long after its first one."""
    ours, theirs = os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            _act_and_tell(act, folder, fatal, theirs)
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(0)
    os.close(theirs)
    with os.fdopen(ours, "rb") as heard:
        heard.readline()
        if delay_s is not None:
            time.sleep(delay_s)
            os.kill(pid, signal.SIGKILL)
        told = heard.read().split()
    os.waitpid(pid, 0)
    return Ended(int(told[0]), int(told[1]), float(told[2])) if told else Ended(None, 0, 0.0)


def _act_and_tell(act: Callable[[], int], folder: Path, fatal: int, told: int) -> None:
    """Do something, and tell first of its first step, then how it went."""
    begun: list[float] = []

    def begin() -> None:
        begun.append(time.perf_counter())
        os.write(told, b"\n")

    steps = FatalStep(folder, fatal, begin)
    status = act()
    seconds = time.perf_counter() - begun[0] if begun else 0.0
    os.write(told, f"{status} {steps.count} {seconds}".encode())
