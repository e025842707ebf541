"""Work on several parts at once, one on each core of a small machine."""

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

THREADS = 2
"""Parts worked on at once; sparse solves and products of matrices let the threads run side by side."""

Part = TypeVar("Part")
Done = TypeVar("Done")
Beside = TypeVar("Beside")


def side_by_side(work: Callable[[Part], Done], parts: Iterable[Part]) -> list[Done]:
    """Return what ``work`` makes of each part, in their order; keep to one BLAS thread meanwhile."""
    with ThreadPoolExecutor(THREADS) as pool:
        return list(pool.map(work, parts))


def both(one: Callable[[], Done], other: Callable[[], Beside]) -> tuple[Done, Beside]:
    """Return what two pieces of work make that need nothing of each other."""
    with ThreadPoolExecutor(1) as pool:
        beside = pool.submit(other)
        return one(), beside.result()
