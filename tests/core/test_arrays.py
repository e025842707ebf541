"""Arrays of frozen values: read-only, of the stated shape and kind."""

from dataclasses import dataclass

import numpy as np
import pytest

from solver.core.arrays import Floats, freeze, seal


@dataclass(frozen=True, eq=False)
class Held:
    values: Floats


def test_frozen_values_are_a_copy() -> None:
    mine = np.zeros((2, 3))
    held = Held(mine)
    freeze(held, values=((None, 3), float))
    mine[0, 0] = 1.0
    assert held.values[0, 0] == 0.0
    with pytest.raises(ValueError, match="read-only"):
        held.values[0, 0] = 2.0


def test_sealed_values_stay_where_they_lie() -> None:
    mine = np.zeros((2, 3))
    held = Held(mine)
    seal(held, values=((2, None), np.float64))
    assert held.values is mine
    with pytest.raises(ValueError, match="read-only"):
        mine[0, 0] = 1.0


@pytest.mark.parametrize("keep", [freeze, seal])
def test_another_shape_is_refused(keep: object) -> None:
    assert callable(keep)
    with pytest.raises(ValueError, match="expected"):
        keep(Held(np.zeros((2, 3))), values=((None, 4), np.float64))


def test_sealing_does_not_turn_numbers_into_others() -> None:
    with pytest.raises(ValueError, match="holds float64, expected float32"):
        seal(Held(np.zeros(2)), values=((2,), np.float32))
