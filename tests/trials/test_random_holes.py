"""A fixed part of the trial of random sound holes."""

import pytest

from tests.trials.random_holes import outcome


@pytest.mark.slow
def test_random_holes_are_solved_within_bounds() -> None:
    outcomes = [outcome(17, number, number % 8 == 0) for number in (*range(10), 141)]
    assert [o.fault for o in outcomes if o.fault and not o.fault.endswith("unknowns")] == []
    assert [o.refusal for o in outcomes if o.refusal] == []
    assert max(o.unknowns for o in outcomes) <= 30_000
