"""A small fixed part of the trial of taps in rooms."""

import pytest

from tests.trials.taps_in_rooms import DRY, judged_takes


@pytest.mark.slow
def test_numbers_given_in_a_quiet_room_are_right() -> None:
    count, _ = judged_takes(6, 3, DRY)
    assert count.wrong <= 1
    assert count.doubted <= 1
    assert count.right >= 15
