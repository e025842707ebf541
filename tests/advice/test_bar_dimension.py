from dataclasses import replace

import numpy as np
import pytest

from solver.advice.bar_dimension import DIMENSIONS, STEEPEST_TAPER, BarDimension, check_taper
from solver.core.errors import InputError
from tests.viewer.plain_plate import BAR

MEASURES = [dimension for dimension in DIMENSIONS.values() if dimension.name != "shift"]


@pytest.mark.parametrize("dimension", MEASURES, ids=lambda dimension: dimension.name)
def test_a_changed_dimension_reads_as_asked_and_those_across_it_stay(dimension: BarDimension) -> None:
    wanted = 1.1 * dimension.read(BAR)
    changed = dimension.changed(BAR, wanted)
    assert dimension.read(changed) == pytest.approx(wanted, rel=1e-12)
    ends = {"from_x", "from_y", "to_x", "to_y", "length"}
    for other in MEASURES:
        if other is not dimension and not {other.name, dimension.name} <= ends:
            assert other.read(changed) == pytest.approx(other.read(BAR), rel=1e-12)


def test_a_longer_bar_keeps_its_middle_and_its_slant() -> None:
    longer = DIMENSIONS["length"].changed(BAR, BAR.length + 0.02)
    assert longer.start + longer.end == pytest.approx(BAR.start + BAR.end)
    assert longer.direction == pytest.approx(BAR.direction)


def test_a_higher_bar_keeps_the_form_of_its_taper() -> None:
    along = BAR.start + np.linspace(0, 1, 11)[:, None] * (BAR.end - BAR.start)
    higher = DIMENSIONS["height"].changed(BAR, 0.015)
    assert higher.height_at(along) == pytest.approx(BAR.height_at(along) * 15 / 12)


def test_a_shifted_bar_moves_to_the_left_as_it_is() -> None:
    shifted = DIMENSIONS["shift"].changed(BAR, 0.003)
    assert shifted.footprint - BAR.footprint == pytest.approx(np.tile([0.0, 0.003], (4, 1)))


@pytest.mark.parametrize("share", [0.99, 1.01])
def test_a_wedge_may_rise_to_the_limit_and_no_further(share: float) -> None:
    """A straight wedge rises everywhere by its height over its length."""
    height = share * STEEPEST_TAPER * BAR.length
    wedge = replace(BAR, profile=np.array([[0.0, 0.0], [1.0, height]]))
    if share < 1:
        check_taper(wedge, "the bar")
    else:
        lowest = 1e3 * STEEPEST_TAPER * BAR.length
        with pytest.raises(InputError, match=rf"rises 1 mm in 4\.0 mm .* Keep it at {int(lowest * 10) / 10}"):
            check_taper(wedge, "the bar")


def test_a_blunt_end_is_no_taper() -> None:
    """3 mm over the first hundredth of the length, more than 1 in 1, then nearly level."""
    check_taper(
        replace(BAR, profile=np.array([[0.0, 0.0], [0.01, 0.003], [0.5, 0.01], [1.0, 0.003]])), "the bar"
    )
