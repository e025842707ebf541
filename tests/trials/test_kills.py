"""A fixed part of the trial of kills."""

import os

import pytest

from tests.trials.kills import run


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="processes of POSIX")
def test_nothing_is_lost_and_nothing_taken_twice_by_kills() -> None:
    tally = run(120, 2)
    assert tally.faults == []
    assert sum(tally.killed.values()) == 120
    assert tally.halfway > 0
