"""The fit ends in the same place from three starts, or says that it does not know: a few plates of the trial."""

from pathlib import Path

import pytest

from tests.trials.fit_starts import COARSE, compared, row, written


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "number"), [("violin-top", 0), ("viola-top", 3), ("violin-back", 100)])
def test_three_starts_end_alike(kind: str, number: int, tmp_path: Path) -> None:
    plate = compared(f"{kind}:{number}", written(kind, 1, number, tmp_path / "plate"), number, COARSE)
    assert plate.is_honest, row(plate)
    assert plate.shown < 1e-3, row(plate)
