"""Tones from recordings of known modes, against the best that any reader can do; hum and room told from the plate."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import soundfile

from solver.core.arrays import Bools, Floats
from solver.measured.recording import RATE_HZ, Recording, read_recording
from solver.measured.tap_tones import TapTones, hear_tones
from tests.measured.simulated_taps import (
    CLEARLY_HEARD,
    PLATES,
    RATE,
    Simulated,
    bound,
    parted,
    simulate,
    simulate_modes,
)
from tests.trials.rattling_takes import with_a_rattle
from tests.trials.taps_in_rooms import heard_in


def as_recorded(sound: Floats, rate: int, path: Path) -> Recording:
    """Return a sound as it comes back from a 16-bit file."""
    soundfile.write(path, sound, rate, subtype="PCM_16")
    return read_recording(path)


@dataclass(frozen=True, eq=False)
class Outcome:
    """Of one recording: for each mode whether it was audible, clear of others, and found; errors over bound and over sd."""

    audible: Bools
    clear: Bools
    found: Bools
    over_bound: Floats
    over_sd: Floats
    false: int


def outcome(truth: Simulated, heard: TapTones) -> Outcome:
    """Pair tones and modes, the nearest first, within a mode's half-power width."""
    tones = np.array([tone.hz for tone in heard.tones])
    pairs = np.abs(truth.hz[:, None] - tones) / (truth.hz / truth.q)[:, None]
    mode_of: dict[int, int] = {}
    for m, t in sorted(np.ndindex(pairs.shape), key=lambda pair: float(pairs[pair])):
        if pairs[m, t] < 1 and m not in mode_of.values() and t not in mode_of:
            mode_of[t] = m
    best = bound(truth)
    over_bound, over_sd = np.full(len(truth.hz), np.nan), np.full(len(truth.hz), np.nan)
    for t, m in mode_of.items():
        over_bound[m] = (tones[t] - truth.hz[m]) / best.sd_hz[m]
        over_sd[m] = (tones[t] - truth.hz[m]) / heard.tones[t].sd_hz
    found = ~np.isnan(over_bound)
    return Outcome(
        best.heard > CLEARLY_HEARD, parted(truth), found, over_bound, over_sd, len(tones) - len(mode_of)
    )


@dataclass(frozen=True)
class Score:
    """Over many recordings: shares of audible modes found, of intervals that cover; false tones; rms error over bound."""

    found: float
    false_each: float
    over_bound: float
    cover: float
    cover_all: float


def score(seeds: Iterable[int], snr_db: float, folder: Path) -> Score:
    """Return what comes of recordings; error and ``cover`` are of the modes that are audible and clear of others.

    The error is the root mean square, over the modes, of each error over that mode's own bound.
    """
    outcomes = []
    for seed in seeds:
        truth = simulate(seed, snr_db)
        outcomes.append(outcome(truth, hear_tones([as_recorded(truth.sound, RATE, folder / "taps.wav")])))
    off = np.concatenate([one.over_bound[one.found & one.audible & one.clear] for one in outcomes])
    over_sd = np.concatenate([one.over_sd[one.found & one.audible & one.clear] for one in outcomes])
    over_sd_all = np.concatenate([one.over_sd[one.found & one.audible] for one in outcomes])
    return Score(
        float(np.mean(np.concatenate([one.found[one.audible] for one in outcomes]))),
        float(np.mean([one.false for one in outcomes])),
        float(np.sqrt(np.mean(off**2))),
        float(np.mean(np.abs(over_sd) < 1.96)),
        float(np.mean(np.abs(over_sd_all) < 1.96)),
    )


def test_a_few_simulated_recordings(tmp_path: Path) -> None:
    few = score(range(1000, 1003), 25.0, tmp_path)
    assert few.found >= 0.9
    assert few.false_each <= 1 / 3
    assert few.over_bound <= 3  # of a dozen modes; the three hundred have the bound that counts
    assert few.cover >= 0.8


@pytest.mark.slow
@pytest.mark.parametrize(
    ("snr_db", "seeds"),
    [(10.0, range(75)), (20.0, range(75, 150)), (30.0, range(150, 225)), (40.0, range(225, 300))],
)
def test_three_hundred_simulated_recordings(snr_db: float, seeds: range, tmp_path: Path) -> None:
    many = score(seeds, snr_db, tmp_path)
    print(snr_db, many)
    assert many.found >= 0.95
    assert many.false_each < 0.1
    assert many.over_bound <= 2
    assert 0.9 <= many.cover <= 0.98
    # with modes beside others so faint or so near that the two are heard as one tone
    assert 0.85 <= many.cover_all <= 0.98


def plain_taps(rate: int, taps: int, seed: int, extra: float = 0.0) -> Floats:
    """Return taps on three modes at 163, 340 and 344 Hz (a doublet) with hiss, and ``extra`` of a fan at 240 Hz."""
    rng = np.random.default_rng(seed)
    time = np.arange(int(rate * (1 + taps))) / rate
    sound = 0.002 * rng.normal(size=len(time)) + extra * np.cos(2 * np.pi * 240.3 * time)
    for k in range(taps):
        since = np.maximum(time - 0.9 - k, 0)
        for hz, q in ((163.0, 40.0), (340.0, 60.0), (344.0, 70.0)):
            size = rng.uniform(0.05, 0.15) * rng.choice([-1, 1])
            sound += size * np.exp(-np.pi * hz / q * since) * np.sin(2 * np.pi * hz * since)
    return np.asarray(sound)


def heard_hz(heard: TapTones) -> list[float]:
    return [tone.hz for tone in heard.tones]


def test_a_doublet_is_resolved_and_damping_is_right(tmp_path: Path) -> None:
    heard = hear_tones([as_recorded(plain_taps(44100, 4, 0), 44100, tmp_path / "a.wav")])
    assert heard_hz(heard) == pytest.approx([163.0, 340.0, 344.0], abs=0.2)
    for tone, q in zip(heard.tones, (40.0, 60.0, 70.0), strict=True):
        assert abs(tone.q - q) < 4 * tone.sd_q
        assert tone.sd_q < 0.1 * q
    assert heard.taps == 4
    assert max(tone.level_db for tone in heard.tones) == 0.0


def test_several_recordings_are_heard_together_whatever_their_rates(tmp_path: Path) -> None:
    one = as_recorded(plain_taps(44100, 2, 1), 44100, tmp_path / "a.wav")
    other = as_recorded(plain_taps(16000, 4, 2), 16000, tmp_path / "b.flac")
    together, alone = hear_tones([one, other]), hear_tones([one])
    assert together.taps == 6
    assert heard_hz(together) == pytest.approx([163.0, 340.0, 344.0], abs=0.2)
    assert together.tones[0].sd_hz < 0.8 * alone.tones[0].sd_hz


def test_what_a_lossy_file_adds_is_no_tone(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.ogg", plain_taps(44100, 3, 7), 44100, subtype="VORBIS")
    heard = hear_tones([read_recording(tmp_path / "a.ogg")])
    assert heard_hz(heard) == pytest.approx([163.0, 340.0, 344.0], abs=0.3)
    assert "stored with loss" in heard.warnings[-1]


@pytest.mark.slow
def test_a_door_that_slams_is_no_plate() -> None:
    rng, time = np.random.default_rng(3), np.arange(5 * RATE_HZ) / RATE_HZ
    sound = 1e-4 * rng.normal(size=len(time))
    for start in (1.0, 2.3, 3.6):
        dies_away = np.exp(-np.maximum(time - start, 0) / 0.12) * (time >= start)
        sound += 0.1 * dies_away * rng.normal(size=len(time))
    heard = hear_tones([Recording("a.wav", sound, np.zeros(len(sound), dtype=bool))])
    assert "something else sounded" in heard.warnings[-1]


@pytest.mark.slow
def test_a_quiet_rattle_is_told_of() -> None:
    """Something loose on the plate, 20 dB under the tap: some twenty tones that stand too thick."""
    rng = np.random.default_rng(5)
    take = simulate_modes(rng, np.array(PLATES["violin top"]), 40.0)
    good, rattling = heard_in(take.sound), heard_in(with_a_rattle(rng, take, -20.0))
    assert not good.doubtful
    assert rattling.doubtful
    assert "a loose part that rattles" in rattling.warnings[-1]


@pytest.mark.slow
def test_of_very_many_taps_the_first_are_heard() -> None:
    time = np.arange(int(0.3 * RATE_HZ)) / RATE_HZ
    one = np.exp(-np.pi * 300 / 15 * time) * np.sin(2 * np.pi * 300 * time)
    sound = np.concatenate([np.zeros(RATE_HZ), *([one] * 14)])
    sound = sound + 0.002 * np.random.default_rng(6).normal(size=len(sound))
    heard = hear_tones([Recording("a.wav", sound, np.zeros(len(sound), dtype=bool))])
    assert heard.taps == 12
    assert "the first 12 were heard" in heard.warnings[-1]
    assert heard_hz(heard) == pytest.approx([300.0], abs=0.3)


def test_what_sounds_before_the_tap_is_the_rooms(tmp_path: Path) -> None:
    heard = hear_tones([as_recorded(plain_taps(44100, 3, 3, extra=0.02), 44100, tmp_path / "a.wav")])
    assert heard_hz(heard) == pytest.approx([163.0, 340.0, 344.0], abs=0.2)
    assert heard.steady_hz == pytest.approx((240.3,), abs=0.05)


def test_what_does_not_decay_is_the_rooms_even_if_nothing_was_recorded_before() -> None:
    sound = plain_taps(RATE_HZ, 3, 4, extra=0.02)[int(0.82 * RATE_HZ) :]
    heard = hear_tones([Recording("a.wav", sound, np.zeros(len(sound), dtype=bool))])
    assert "nothing was recorded before" in heard.warnings[0]
    assert heard_hz(heard) == pytest.approx([163.0, 340.0, 344.0], abs=0.2)
    assert heard.steady_hz == pytest.approx((240.3,), abs=0.1)


def test_a_tone_at_the_seam_of_two_bands_is_told_once() -> None:
    rng = np.random.default_rng(5)
    time = np.arange(3 * RATE_HZ) / RATE_HZ
    since = np.maximum(time - 1, 0)
    for hz in (259.0, 260.0, 375.5, 500.4):
        sound = 0.002 * rng.normal(size=len(time)) + 0.2 * np.exp(-np.pi * hz / 25 * since) * np.sin(
            2 * np.pi * hz * since
        )
        heard = hear_tones([Recording("a.wav", sound, np.zeros(len(sound), dtype=bool))])
        assert heard_hz(heard) == pytest.approx([hz], abs=0.5)
