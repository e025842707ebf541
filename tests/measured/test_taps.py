"""Taps found where they are, and recordings that hold none."""

import numpy as np
import pytest

from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.measured.recording import RATE_HZ, Recording
from solver.measured.taps import find_taps

ONSETS = (0.8, 1.9, 3.1)


def recording(sound: Floats, clipped_at: tuple[float, float] | None = None) -> Recording:
    cut = np.zeros(len(sound), dtype=bool)
    if clipped_at is not None:
        cut[int(clipped_at[0] * RATE_HZ) : int(clipped_at[1] * RATE_HZ)] = True
    return Recording("taps.wav", sound, cut)


def room(seconds: float, seed: int = 0) -> Floats:
    """Hum with a fan's noise, rumble and hiss, 1 in all."""
    rng = np.random.default_rng(seed)
    time = np.arange(int(seconds * RATE_HZ)) / RATE_HZ
    rumble = np.convolve(rng.normal(size=len(time)), np.ones(400) / 100, mode="same")
    return np.asarray(0.01 * (np.cos(2 * np.pi * 100 * time) + rumble + 0.3 * rng.normal(size=len(time))))


def taps(onsets: tuple[float, ...] = ONSETS, seconds: float = 4.2, size: float = 0.3) -> Floats:
    sound = room(seconds)
    time = np.arange(len(sound)) / RATE_HZ
    for onset in onsets:
        since = np.maximum(time - onset, 0)
        ring = sum(
            np.exp(-np.pi * f / 40 * since) * np.sin(2 * np.pi * f * since) for f in (88.0, 163.0, 340.0)
        )
        sound = sound + size * np.where(time >= onset, ring, 0)
    return sound


def test_taps_are_found_to_the_millisecond() -> None:
    found = find_taps(recording(taps()))
    assert found.seconds == pytest.approx(ONSETS, abs=0.0025)
    assert [segment.rings for segment in found.segments] == [False, True, True, True]
    assert found.warnings == ()


def test_taps_that_hardly_stand_out_are_found() -> None:
    found = find_taps(recording(taps(size=0.02)))
    assert found.seconds == pytest.approx(ONSETS, abs=0.005)


def test_the_plate_is_left_to_itself_in_what_is_read() -> None:
    sound = taps(size=1.0)
    found = find_taps(recording(sound))
    for onset, segment in zip(found.seconds, [one for one in found.segments if one.rings], strict=True):
        place = next(
            k for k in range(len(sound)) if np.array_equal(sound[k : k + 100], segment.samples[:100])
        )
        assert 0.003 <= place / RATE_HZ - onset <= 0.006
        assert len(segment.samples) <= RATE_HZ


def test_a_knock_on_a_doublet_that_beats_is_one_tap() -> None:
    time = np.arange(3 * RATE_HZ) / RATE_HZ
    since = np.maximum(time - 1, 0)
    beats = np.exp(-9 * since) * (np.sin(2 * np.pi * 300 * since) + np.sin(2 * np.pi * 316 * since))
    found = find_taps(recording(0.1 * room(3) + beats))
    assert found.seconds == pytest.approx((1.0,), abs=0.003)


def test_without_a_lead_in_it_is_said() -> None:
    found = find_taps(recording(taps((0.1, 1.2), 2.5)))
    assert any("nothing was recorded before the first tap" in warning for warning in found.warnings)


def test_a_clipped_blow_is_left_out_and_the_others_are_used() -> None:
    found = find_taps(recording(taps(), (1.9, 2.1)))
    assert found.seconds == pytest.approx((0.8, 3.1), abs=0.003)
    assert found.warnings == ("taps.wav: 1 tap left out: clipped.",)


def test_peaks_cut_off_at_the_blow_alone_cost_only_that_moment() -> None:
    found = find_taps(recording(taps((0.8, 1.5, 2.2), 2.9), (1.5, 1.52)))
    assert len(found.seconds) == 3
    lengths = [len(segment.samples) for segment in found.segments if segment.rings]
    assert lengths[1] < lengths[2]
    assert found.warnings == ()


def notes(starts: tuple[float, ...]) -> Floats:
    """Notes that begin and go on, as music does."""
    time = np.arange(4 * RATE_HZ) / RATE_HZ
    sound = 0.001 * np.random.default_rng(0).normal(size=len(time))
    for start, hz in zip(starts, (262.0, 330.0, 392.0, 523.0), strict=False):
        sound += np.where((time > start) & (time < start + 0.78), np.sin(2 * np.pi * hz * time), 0)
    return sound


REFUSED: dict[str, tuple[Recording, str]] = {
    "silence": (recording(np.zeros(3 * RATE_HZ)), "there is no tap in it"),
    "two samples": (recording(np.zeros(2)), "there is no tap in it"),
    "a fifth of a second": (recording(room(0.2)), "there is no tap in it"),
    "a room": (recording(room(5)), "there is no tap in it"),
    "hiss": (recording(np.random.default_rng(3).normal(size=5 * RATE_HZ)), "there is no tap in it"),
    "a breath of sound": (recording(np.ones(20)), "there is no tap in it"),
    "clipped": (recording(taps(), (0.0, 4.2)), "the sound is clipped"),
    "drumming": (recording(taps(tuple(0.5 + 0.09 * np.arange(20)), 2.4)), "too short|does not ring down"),
    "cut off after the tap": (recording(taps((0.8,), 0.9)), "too short"),
    "music": (recording(notes((0.5, 1.3, 2.1, 2.9))), "there is no tap in it|does not ring down"),
    "a tone that begins": (recording(notes((3.3,))), "does not ring down"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_holds_no_ring_down_is_refused_in_one_sentence(case: str) -> None:
    heard, said = REFUSED[case]
    with pytest.raises(InputError, match=said) as refusal:
        find_taps(heard)
    assert str(refusal.value).startswith("taps.wav: ")
    assert "\n" not in str(refusal.value)
