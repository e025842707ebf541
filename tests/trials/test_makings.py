"""A few makings of the trial: the program brings simulated plates to their wishes, and what it says is true."""

from pathlib import Path

import pytest

from tests.trials.making import make
from tests.trials.making_records import FAR_PCT, Making, row

PLATES = (("violin-back", 100), ("violin-top", 1))
"""Two of seed 1: each takes a minute or two."""
PASSES = 4


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "number"), PLATES)
def test_a_plate_comes_to_its_wishes(kind: str, number: int, tmp_path: Path) -> None:
    making: Making = make(kind, 1, number, tmp_path / "plate", PASSES)
    assert not making.refusals, row(making)
    assert making.worst_pct < FAR_PCT, row(making)
    missed = [forecast for forecast in making.forecasts if not forecast.holds]
    # 95 % each, and those of one making hang together
    assert len(missed) <= len(making.forecasts) // 4, row(making)
