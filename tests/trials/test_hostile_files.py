"""A small fixed part of the trial of spoilt files."""

import pytest

from tests.trials.hostile_files import trial


@pytest.mark.slow
def test_no_good_file_is_refused_and_every_spoilt_one_is_read_or_refused_in_a_sentence() -> None:
    for words, tally in trial(1, 4, 20260314):
        assert tally.good == 1, words
        assert tally.good_refused == 0, words
        assert tally.faults == 0, words
