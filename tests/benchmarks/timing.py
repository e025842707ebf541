"""How long something takes, told so that other work on the machine counts little."""

import time
from collections.abc import Callable


def best_of_three(work: Callable[[], object]) -> float:
    """Return the shortest time [s] of three."""
    times = []
    for _ in range(3):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)
