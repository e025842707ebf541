"""Makings of the trial, two passes each: the program brings simulated plates nearer, and what it says is true."""

from pathlib import Path

import pytest

from tests.trials.making import make
from tests.trials.making_records import FAR_PCT, NEAR_PCT, row

PLATES = (("violin-top", 1), ("cello-top", 6), ("viola-back", 2), ("violin-back", 100))
"""Of seed 1; the bar of the cello mixes the ring with the tone beside it evenly. violin-top 6 fails, see DEVELOPERS.md."""
SEED, PASSES = 1, 2


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "number"), PLATES)
def test_a_plate_comes_nearer_to_its_wishes(kind: str, number: int, tmp_path: Path) -> None:
    making = make(kind, SEED, number, tmp_path / "plate", PASSES)
    assert not making.refusals, row(making)
    assert not making.wrong, row(making)
    began = max(abs(off) for off in making.begin_pct.values())
    # half of what is left is carved in each pass
    assert making.worst_pct < min(FAR_PCT, max(NEAR_PCT, 0.5 * began)), row(making)
    missed = [forecast for forecast in making.forecasts if not forecast.holds]
    # 95 % each, but the three answers on one tone are right or wrong together
    assert len(missed) <= len(making.forecasts) // 4, row(making)
