"""Two pieces of work at once do not disturb the number of BLAS threads, which belongs to the whole process."""

from threading import Event

import numpy as np
from threadpoolctl import threadpool_info, threadpool_limits

from solver.core.parallel import both

WAIT_S = 20.0


def blas_threads() -> list[int]:
    """The numbers of threads that the BLAS of NumPy, and others if loaded, are set to."""
    pools = [pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas"]
    return [int(number) for number in np.unique(pools)]


def test_overlapping_limits_leave_the_number_of_blas_threads_as_it_was() -> None:
    """The first piece sets its limit first and ends first, while the second still works under its own."""
    first_began, second_began, first_ended = Event(), Event(), Event()

    def first() -> bool:
        with threadpool_limits(1, user_api="blas"):
            first_began.set()
            met = second_began.wait(WAIT_S)
        first_ended.set()
        return met

    def second() -> list[int]:
        assert first_began.wait(WAIT_S)
        with threadpool_limits(1, user_api="blas"):
            second_began.set()
            assert first_ended.wait(WAIT_S)
            return blas_threads()

    with threadpool_limits(2, user_api="blas"):
        met, under_second = both(first, second)
        after = blas_threads()
    assert met
    assert under_second == [1]
    assert after == [2]
