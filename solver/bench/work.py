"""Long work beside the page: each piece in a process of its own, which tells how far it is and can be stopped.

A process of its own keeps the page answering while matrices are factored, gives the memory back, and can be ended at any
moment without harm, because it writes nothing into a plate's folder.
"""

import secrets
import sys
import threading
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing import get_context
from multiprocessing.connection import Connection
from typing import TYPE_CHECKING, Generic, Literal, Protocol, TypeVar, cast

from solver.bench.page_words import in_page_words
from solver.bench.told import Answer, JobTold
from solver.core.errors import InputError

if TYPE_CHECKING:
    from multiprocessing.context import ForkServerContext, SpawnContext
    from multiprocessing.process import BaseProcess


State = Literal["waiting", "working", "done", "refused", "stopped", "failed"]
PROCESSES: "ForkServerContext | SpawnContext"
"""On Linux a process comes of one in which the libraries are loaded already: a second sooner than one that loads them."""

if sys.platform == "linux":
    PROCESSES = get_context("forkserver")
    PROCESSES.set_forkserver_preload(["solver.bench.solving"])
else:
    PROCESSES = get_context("spawn")

AT_ONCE = 2
"""Pieces of work side by side; more would only take the cores from each other."""

MOST_KEPT = 200
FAILED = (
    "Something went wrong in the program itself; the terminal of the bench shows what. Nothing was changed."
)


class Progress(Protocol):
    """How a piece of work tells how far it is, and hands over what is ready before the end."""

    def say(self, words: str, share: float) -> None:
        """Tell what is being done now, and the share of the whole that lies behind."""

    def hand_over(self, name: str, value: object) -> None:
        """Give a part of the result to the server."""


class _Sent:
    """Progress sent over a connection to the server."""

    def __init__(self, connection: Connection) -> None:
        """Speak over a connection to the server."""
        self._connection = connection

    def say(self, words: str, share: float) -> None:
        """Tell what is being done now, and the share of the whole that lies behind."""
        self._connection.send(("said", words, share))

    def hand_over(self, name: str, value: object) -> None:
        """Give a part of the result to the server."""
        self._connection.send(("part", name, value))


Order = TypeVar("Order")
"""What says what is to be done: a text, or an object that can be pickled."""

Result = TypeVar("Result")
"""What a piece of work makes."""

Work = Callable[[Progress, Order], Result]
"""Something long: takes its progress and its order, and returns what it made."""

Answered = Callable[[Result], Answer | None]
"""What the server does with a result; returns what the page gets of it."""


@dataclass(frozen=True)
class Ordered(Generic[Order, Result]):
    """Work with its order, as it is sent to the process."""

    work: Work[Order, Result]
    order: Order

    def __call__(self, progress: Progress) -> Result:
        """Do it."""
        return self.work(progress, self.order)


def whole_result(value: Answer) -> Answer:
    """Keep nothing: the page gets all of it."""
    return value


def nothing_more(_: None) -> None:
    """Keep nothing of work that hands over all that it makes in parts."""


def no_parts(value: object) -> None:
    """Take what work hands over before its end, where none is expected."""
    raise TypeError(f"a part that nobody waits for: {type(value).__name__}")


@dataclass
class Job:
    """A piece of work as the page sees it, whatever comes of it."""

    title: str
    key: str = field(default_factory=lambda: secrets.token_hex(8))
    state: State = "waiting"
    said: str = "Getting ready"
    share: float = 0.0
    parts: list[str] = field(default_factory=list)
    result: Answer | None = None
    _process: "BaseProcess | None" = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def is_over(self) -> bool:
        """Tell whether nothing more will come."""
        return self.state not in ("waiting", "working")

    @property
    def came_to_nothing(self) -> bool:
        """Tell whether it ended without its result."""
        return self.is_over and self.state != "done"

    def told(self) -> JobTold:
        """Return what the page is told of it."""
        return {
            "key": self.key,
            "title": self.title,
            "state": self.state,
            "said": self.said,
            "share": round(self.share, 3),
            "parts": list(self.parts),
            "result": self.result,
        }

    def stop(self) -> None:
        """End it; what it has handed over stays."""
        with self._lock:
            if not self.is_over:
                self.state, self.said = "stopped", "Stopped."
            if self._process is not None and self._process.is_alive():
                self._process.terminate()

    def _end(self, state: State, words: str) -> None:
        with self._lock:
            if not self.is_over:
                self.state, self.said, self.share = state, words, 1.0


@dataclass(kw_only=True)
class JobOf(Job, Generic[Result]):
    """A piece of work with the kind of its result.

    ``ordered`` gives what is to be done, as soon as that can be known; ``answered`` takes its result, ``keep`` each part
    that it hands over before.
    """

    ordered: Callable[[], Callable[[Progress], Result]]
    answered: Answered[Result]
    keep: Callable[[object], None]

    def run(self, places: threading.Semaphore) -> None:
        """Do the work in a process, once one of the ``places`` is free, and take what comes of it, until it is over."""
        try:
            work = self.ordered()
        except InputError as error:
            self._end("refused", in_page_words(str(error)))
        else:
            with self._lock:
                if not self.is_over:
                    self.said = "Waiting for other work to end"
            with places:
                self._run(work)

    def _run(self, work: Callable[[Progress], Result]) -> None:
        ours, theirs = PROCESSES.Pipe(duplex=False)
        process = PROCESSES.Process(target=_in_child, args=(work, theirs), daemon=True)
        with self._lock:
            if self.is_over:
                return
            self.state, self.said, self._process = "working", self.title, process
            process.start()
        theirs.close()
        with ours:
            while not self.is_over:
                try:
                    message = ours.recv()
                except (EOFError, OSError):  # it ended before a message, or in the middle of one
                    self._end("failed", f"{self.title}: it ended without a result. Try again.")
                else:
                    self._take(message)
        process.join()

    def _take(self, message: tuple[str, str, object]) -> None:
        kind, words, value = message
        if kind == "said":
            self.said, self.share = words, float(cast("float", value))
        elif kind == "part":
            self.keep(value)
            self.parts.append(words)
        elif kind == "done":
            self.result = self.answered(cast("Result", value))  # what `_in_child` got of the work
            self._end("done", "")
        else:
            self._end("refused" if kind == "refused" else "failed", words)


class Jobs:
    """The long work of this server, a few pieces at a time."""

    def __init__(self) -> None:
        """Begin with none."""
        self._jobs: dict[str, Job] = {}
        self._places = threading.Semaphore(AT_ONCE)
        self._lock = threading.Lock()

    def begin(
        self,
        title: str,
        work: Work[Order, Result],
        order: Order,
        answered: Answered[Result],
        keep: Callable[[object], None] = no_parts,
    ) -> Job:
        """Begin a piece of work."""
        return self.begin_after(title, work, lambda: order, answered, keep)

    def begin_after(
        self,
        title: str,
        work: Work[Order, Result],
        order: Callable[[], Order],
        answered: Answered[Result],
        keep: Callable[[object], None] = no_parts,
    ) -> Job:
        """Begin a piece of work whose ``order`` hangs on other work: it may wait for that, and refuse (InputError)."""
        job = JobOf(title, ordered=lambda: Ordered(work, order()), answered=answered, keep=keep)
        with self._lock:
            for old in [key for key, old in self._jobs.items() if old.is_over][: -MOST_KEPT or None]:
                del self._jobs[old]
            self._jobs[job.key] = job
        threading.Thread(target=self._run, args=(job,), daemon=True, name=title).start()
        return job

    def find(self, key: str) -> Job:
        """Return a job by its key; raises InputError if there is none."""
        job = self._jobs.get(key)
        if job is None:
            raise InputError(
                "That piece of work is not known here; expected one of this start. Begin it anew."
            )
        return job

    def stop_all(self) -> None:
        """End everything, when the server ends."""
        for job in list(self._jobs.values()):
            job.stop()

    def _run(self, job: JobOf[Result]) -> None:
        try:
            job.run(self._places)
        except Exception:  # whatever goes wrong with one job must not take the bench down
            traceback.print_exc()
            job.state, job.said = "failed", FAILED


def _in_child(work: Callable[[Progress], object], connection: Connection) -> None:
    """Do the work in the child process and send how it went."""
    from threadpoolctl import threadpool_limits

    try:
        with threadpool_limits(1, user_api="blas"):
            value = work(_Sent(connection))
        connection.send(("done", "", value))
    except BrokenPipeError:
        return  # the bench was ended meanwhile: nobody waits for this
    except InputError as error:
        connection.send(("refused", in_page_words(str(error)), None))
    except (
        Exception
    ):  # a fault of the program: the terminal tells the maker's helper, the page tells the maker
        traceback.print_exc()
        connection.send(("failed", FAILED, None))
