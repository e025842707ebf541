"""Which tone bears which of the trade's numbers, by its shares in their patterns."""

import numpy as np
import pytest

from solver.core.arrays import Floats
from solver.modal.labels import (
    LEAST_SHARE,
    NAMED_AMONG,
    PART,
    TRACE,
    carried_names,
    mixed_patterns,
    names_by,
    shared_pattern,
)
from solver.plate.mode_label import NUMBERS

RING = NUMBERS.index("5")


def _shares(*ring: float, **others: tuple[int, float]) -> Floats:
    """Ten tones: shares of the ring from the 5th tone on, and of other numbers at places of their own."""
    shares = np.zeros((NAMED_AMONG, len(NUMBERS)))
    shares[4 : 4 + len(ring), RING] = ring
    for name, (place, share) in others.items():
        shares[place, NUMBERS.index(name.removeprefix("mode"))] = share
    return shares


@pytest.mark.parametrize("degrees", range(0, 91, 5))
def test_two_tones_mixed_at_a_veering_by_any_angle_share_the_ring(degrees: int) -> None:
    """``a = c R + s X``, ``b = s R - c X``: shares are squares of cosine and sine, and the larger bears the number."""
    one, other = np.cos(np.radians(degrees)) ** 2, np.sin(np.radians(degrees)) ** 2
    shares = _shares(0.9 * one, 0.9 * other)
    ring = shared_pattern(shares, "5")
    assert names_by(shares)[4:6] == (("5", None) if degrees <= 45 else (None, "5"))
    assert ring.places[0] == (4 if degrees <= 45 else 5)
    assert ring.is_mixed == (min(one, other) >= PART * max(one, other))
    assert sum(ring.parts) == pytest.approx(1.0)
    if ring.is_mixed:
        assert max(ring.parts) == pytest.approx(max(one, other))


@pytest.mark.parametrize(("next_share", "is_mixed"), [(0.55, True), (0.45, False)])
def test_a_tone_has_part_from_half_of_the_largest_share(next_share: float, is_mixed: bool) -> None:
    assert shared_pattern(_shares(0.8, 0.8 * next_share), "5").is_mixed is is_mixed


@pytest.mark.parametrize(("share", "is_named"), [(0.32, True), (0.28, False), (0.37, True), (0.22, False)])
def test_mode_3_wants_three_tenths_of_its_pattern(share: float, is_named: bool) -> None:
    assert ("3" in names_by(_shares(0.9, mode3=(2, share)))) is is_named


@pytest.mark.parametrize(("share", "is_named"), [(0.12, True), (0.08, False)])
def test_the_ring_is_named_however_mixed_if_there_is_a_trace_of_it(share: float, is_named: bool) -> None:
    assert ("5" in names_by(_shares(share))) is is_named
    assert bool(shared_pattern(_shares(share), "5").places) is is_named


def test_three_tones_may_share_a_pattern() -> None:
    ring = shared_pattern(_shares(0.3, 0.0, 0.25, 0.2), "5")
    assert ring.places == (4, 6, 7)
    assert ring.parts == pytest.approx((0.4, 1 / 3, 4 / 15))


def test_a_trace_beside_a_small_share_has_no_part() -> None:
    assert shared_pattern(_shares(0.15, 0.09), "5").places == (4,)


def test_every_number_goes_to_a_tone_of_its_own() -> None:
    """The 5th tone has the most of both shapes; the next has the ring too."""
    shares = _shares(0.5, 0.4, mode2=(4, 0.45))
    assert names_by(shares)[4:6] == ("2", "5")


def test_tones_above_the_tenth_bear_no_number() -> None:
    shares = np.vstack([_shares(0.3), np.full((3, len(NUMBERS)), 0.8)])
    assert names_by(shares)[4] == "5"
    assert names_by(shares)[10:] == (None, None, None)
    assert names_by(_shares(0.0, 0.0, 0.0, 0.0, 0.0, 0.3))[9] == "5"


def test_only_patterns_of_numbers_that_were_found_are_told_to_be_mixed() -> None:
    shares = _shares(0.5, 0.4, mode3=(2, 0.2)) + _shares(mode3=(3, 0.2))
    mixed = mixed_patterns(names_by(shares), shares)
    assert [pattern.name for pattern in mixed] == ["5"]


def test_thresholds_stand_in_order() -> None:
    assert 0 < TRACE < LEAST_SHARE < PART < 1


def test_numbers_go_with_the_tones_that_bore_them() -> None:
    assert carried_names(("1", "5", None), (0, 2, 1), 4) == ("1", None, "5", None)
