"""Work on several parts at once, one on each core of a small machine."""

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from threadpoolctl import threadpool_limits

THREADS = 2
"""Parts worked on at once; sparse solves and products of matrices let the threads run side by side."""

Part = TypeVar("Part")
Done = TypeVar("Done")
Beside = TypeVar("Beside")


def in_parallel(work: Callable[[Part], Done], parts: Iterable[Part]) -> list[Done]:
    """Return what ``work`` makes of each part, in their order; keep to one BLAS thread meanwhile."""
    with ThreadPoolExecutor(THREADS) as pool:
        return list(pool.map(work, parts))


def both(one: Callable[[], Done], other: Callable[[], Beside]) -> tuple[Done, Beside]:
    """Return what two pieces of work make that need nothing of each other.

    Both keep to one BLAS thread. The number belongs to the process: if each piece set it and put it back by itself, the
    first to end would put back the old one under the other, and the last would leave what the first had set.
    """
    with threadpool_limits(1, user_api="blas"), ThreadPoolExecutor(1) as pool:
        beside = pool.submit(other)
        return one(), beside.result()
