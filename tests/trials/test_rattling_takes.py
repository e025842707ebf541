"""A fixed part of the trial of takes in which something rattles."""

import pytest

from tests.trials.rattling_takes import DRY, doubts


@pytest.mark.slow
def test_a_rattle_is_told_and_a_good_take_is_not_doubted() -> None:
    found = [pair for number in range(4) for pair in doubts(5, number)]
    assert not any(doubt.with_plate or doubt.refused for kind, doubt in found if kind == DRY)
    assert all(doubt.with_plate for kind, doubt in found if kind == "rattle at -12 dB")
