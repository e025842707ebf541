"""Which tone a wish is for where two share the pattern of its number."""

from dataclasses import replace
from typing import cast

import numpy as np
import pytest

from solver.advice.plan_trials import PlanTrial
from solver.advice.wished_tones import heard_elsewhere, own_key, partners, wishes_for, with_keys
from solver.core.arrays import Floats
from solver.modal.assembly import ModalModel
from solver.modal.labels import names_by
from solver.plate.mode_label import NUMBERS
from tests.viewer.plain_plate import plain_modes

RING = (0.55, 0.45)
LOWER, UPPER = 300.0, 350.0


def _trial(ring: tuple[float, float], factors: dict[str, float] | None = None) -> PlanTrial:
    """Six tones at 100 to 350 Hz, of which the 5th and 6th have the ring."""
    amplitudes: Floats = np.zeros((6, len(NUMBERS)))
    amplitudes[:2, :2] = np.eye(2)
    amplitudes[4:, NUMBERS.index("5")] = np.sqrt(ring)
    modes = replace(plain_modes(6, 4, 12), amplitudes=amplitudes, names=names_by(amplitudes**2))
    return PlanTrial(cast(ModalModel, None), modes, np.eye(6), factors or {})


def test_a_wish_goes_to_the_tone_that_the_log_numbers() -> None:
    trial = _trial(RING)
    (found,) = heard_elsewhere(trial, ["2", "5"], {"2": 150.0, "5": 348.0})
    assert (found.name, found.heard, found.key) == ("5", 348.0, "#6")
    assert wishes_for({"5": 340.0, "mass": 0.07}, [found]) == {"#6": 340.0, "mass": 0.07}


@pytest.mark.parametrize("heard", [299.0, 318.0])
def test_a_tone_that_is_not_plainly_the_other_is_the_one_that_bears_the_number(heard: float) -> None:
    assert heard_elsewhere(_trial(RING), ["5"], {"5": heard}) == ()


def test_what_is_expected_decides_and_not_what_the_model_makes() -> None:
    """Where the wood was fitted, every tone is a tenth lower than the model has it."""
    trial = _trial(RING, {"5": 0.9, "#6": 0.9})
    (found,) = heard_elsewhere(trial, ["5"], {"5": 0.9 * UPPER})
    assert found.key == "#6"
    assert heard_elsewhere(trial, ["5"], {"5": 0.9 * LOWER}) == ()


@pytest.mark.parametrize(("share", "key"), [(0.25, "#6"), (0.12, "#6"), (0.09, None), (0.0, None)])
def test_the_tone_that_was_heard_may_show_a_trace_of_the_ring_and_no_less(
    share: float, key: str | None
) -> None:
    found = heard_elsewhere(_trial((0.6, share)), ["5"], {"5": UPPER})
    assert [one.key for one in found] == ([] if key is None else [key])


def test_partners_are_followed_by_keys_of_their_own() -> None:
    trial = _trial(RING)
    assert partners(trial) == ("5", "#6")
    keyed = with_keys(trial, partners(trial))
    assert keyed.modes.names[4:] == ("5", "#6")
    assert keyed.figure("#6") == pytest.approx(UPPER)


def test_a_tone_asked_for_by_its_place_is_known_by_its_number() -> None:
    assert own_key(_trial(RING), "#5") == "5"
    assert own_key(_trial(RING), "#6") == "#6"
    assert own_key(_trial(RING), "2") == "2"
