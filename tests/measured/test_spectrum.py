"""The spectrum that is shown, and which steady tones are called hum."""

import numpy as np
import pytest

from solver.measured.mains import is_mains
from solver.measured.recording import RATE_HZ, Recording
from solver.measured.spectrum import tap_spectrum
from tests.measured.demonstration_taps import FAN_HZ, HZ, taps


def demonstration() -> Recording:
    sound = taps()[::2]  # 8000 Hz to 4000 Hz; next to nothing lies above 2000 Hz
    return Recording("taps.flac", sound, np.zeros(len(sound), dtype=bool))


def test_every_tone_is_a_hump_of_the_taps_and_the_fan_of_the_room() -> None:
    shown = tap_spectrum([demonstration()])
    assert shown.taps_db.max() == pytest.approx(0.0, abs=1e-9)
    for hz in (HZ[0], HZ[1], HZ[7]):
        near = np.abs(shown.hz - hz) < 15
        assert shown.hz[near][shown.taps_db[near].argmax()] == pytest.approx(hz, abs=1.5)
    near = np.abs(shown.hz - FAN_HZ) < 15
    assert shown.hz[near][shown.room_db[near].argmax()] == pytest.approx(FAN_HZ, abs=1.0)


def test_without_a_lead_in_no_room_is_shown() -> None:
    late = demonstration().samples[int(1.03 * RATE_HZ) :]
    shown = tap_spectrum([Recording("taps.flac", late, np.zeros(len(late), dtype=bool))])
    assert len(shown.room_db) == 0


def test_hum_is_what_is_a_multiple_of_the_mains_that_most_are() -> None:
    steady = (50.03, 100.06, 237.3, 300.2)
    assert [is_mains(hz, steady) for hz in steady] == [True, True, False, True]
    assert not is_mains(120.0, (50.0, 100.0, 120.0))
    assert is_mains(120.02, (60.01, 120.02, 180.03))
    assert not is_mains(24.0, (24.0,))
