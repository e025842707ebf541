"""Pairing of tones with modes: numbers that hold, numbers exchanged, strays, and doubts."""

from dataclasses import replace

import numpy as np
import pytest

from solver.advice.pairing import Expected, HeardTone, Paired, pair_tones
from solver.core.arrays import Floats

HZ = np.array([86.0, 152.0, 230.0, 308.0, 360.0, 371.0])
NAMES = ("1", "2", "3", "4", "5", None)
WHOLE, SINGLE, READING = 0.06, 0.012, 0.005


def expected(hz: Floats = HZ, names: tuple[str | None, ...] = NAMES) -> Expected:
    """All tones a few per cent open together, and one per cent each by itself."""
    m = len(hz)
    parts = tuple({} if name is None else {name: 1.0} for name in names)
    return Expected(np.log(hz), WHOLE**2 * np.ones((m, m)) + SINGLE**2 * np.eye(m), parts, np.zeros(m, int))


def with_shared_ring(share: float) -> Expected:
    """The same where the 6th tone has a share of the ring besides mode 5."""
    whole = expected()
    return replace(whole, parts=(*whole.parts[:4], {"5": 1 - share}, {"5": share}))


def tone(hz: float, number: str | None = None, entry: int = 0) -> HeardTone:
    return HeardTone(float(np.log(hz)), READING, entry, 0, number)


def modes(paired: tuple[Paired, ...]) -> list[int | None]:
    return [p.mode for p in paired]


def test_numbers_hold_though_all_tones_are_a_tenth_off() -> None:
    paired = pair_tones(expected(), [tone(1.1 * HZ[m], NAMES[m]) for m in (0, 1, 4)])
    assert modes(paired) == [0, 1, 4]
    assert all(p.is_sure for p in paired)


def test_tones_without_numbers_are_told_by_the_others() -> None:
    """Alone, 339 Hz lies nearest to mode 4 of 308 Hz; beside the others it is mode 4 a tenth higher, 396 Hz mode 5."""
    paired = pair_tones(expected(), [tone(1.1 * hz) for hz in HZ])
    assert modes(paired) == [0, 1, 2, 3, 4, 5]


def test_exchanged_numbers_are_seen() -> None:
    paired = pair_tones(expected(), [tone(HZ[0], "1"), tone(HZ[4], "2"), tone(HZ[1], "5"), tone(HZ[2], "3")])
    assert modes(paired) == [0, 4, 1, 2]


@pytest.mark.parametrize("wild", [34.2, 260.0, 800.0])
def test_a_stray_goes_with_no_mode(wild: float) -> None:
    paired = pair_tones(expected(), [tone(HZ[0], "1"), tone(HZ[1], "2"), tone(wild, "5"), tone(HZ[2], "3")])
    assert modes(paired) == [0, 1, None, 2]
    assert paired[2].is_sure


def test_two_modes_close_together_leave_a_tone_in_doubt() -> None:
    hz = np.array([120.0, 150.0, 409.1, 410.3])
    paired = pair_tones(expected(hz, (None,) * 4), [tone(120.0), tone(150.0), tone(409.5)])
    assert not paired[2].is_sure
    assert {paired[2].mode, paired[2].other} == {2, 3}


def test_each_mode_has_one_tone_of_an_entry_and_one_of_the_next() -> None:
    tones = [tone(HZ[4], "5"), tone(1.002 * HZ[4]), tone(1.001 * HZ[4], "5", entry=1)]
    first, second, later = modes(pair_tones(expected(), tones))
    assert first == later == 4
    assert second != 4


def test_a_number_that_the_plate_does_not_show_is_open() -> None:
    names = ("1", "2", "3", "4", None, None)
    paired = pair_tones(expected(names=names), [tone(HZ[0], "1"), tone(HZ[1], "2"), tone(HZ[4], "5")])
    assert modes(paired) == [0, 1, 4]


def test_a_number_holds_for_either_of_two_tones_that_share_its_pattern() -> None:
    others = [tone(HZ[m], NAMES[m]) for m in (0, 1, 2, 3)]
    paired = pair_tones(with_shared_ring(0.4), [*others, tone(1.002 * HZ[5], "5")])
    assert modes(paired) == [0, 1, 2, 3, 5]
    assert paired[-1].is_sure
    alone = pair_tones(expected(), [*others, tone(1.002 * HZ[5], "5")])
    assert alone[-1].mode == 4


def test_order_does_not_matter() -> None:
    tones = [tone(1.05 * hz, name) for hz, name in zip(HZ, NAMES, strict=True)]
    there, back = pair_tones(expected(), tones), pair_tones(expected(), tones[::-1])
    assert modes(there) == modes(back)[::-1]


def test_nothing_heard() -> None:
    assert pair_tones(expected(), []) == ()
