"""Damped tones in a band, against sounds laid out in time."""

import numpy as np
import pytest

from solver.core.arrays import Floats
from solver.measured.band import Band, band_of, complex_rates, tone_columns
from solver.measured.poles import Poles
from solver.measured.ring_down import fit
from solver.measured.subspace import subspace_poles
from solver.measured.taps import Segment

RATE = 4000
HZ, DAMPING = np.array([196.0, 204.0, 251.0]), np.array([9.0, 14.0, 20.0])
TRUTH = Poles(HZ, DAMPING, np.array([180.02]))
NOISE = 0.01


def ring_downs(noise: float, seed: int = 0, taps: int = 3) -> list[Segment]:
    """Return a lead-in of hum alone and a few ring-downs over hum, with white noise."""
    rng = np.random.default_rng(seed)
    segments = []
    for length, rings in [(3000, False), *([(3600, True), (2100, True), (4000, True)] * taps)[:taps]]:
        time = np.arange(length) / RATE
        sound = 0.2 * np.cos(2 * np.pi * 180.02 * time + rng.uniform(0, 6)) + noise * rng.normal(size=length)
        if rings:
            for hz, damping in zip(HZ, DAMPING, strict=True):
                sound += (
                    rng.uniform(0.3, 1)
                    * np.exp(-damping * time)
                    * np.cos(2 * np.pi * hz * time + rng.uniform(0, 6))
                )
        segments.append(Segment(sound, rings))
    return segments


def bent(poles: Poles, parameters: Floats) -> Poles:
    """Return the poles moved by small amounts of hz, ln damping and steady hz."""
    m = len(poles.hz)
    return Poles(
        poles.hz + parameters[:m],
        poles.damping * np.exp(parameters[m : 2 * m]),
        poles.steady_hz + parameters[2 * m :],
    )


def test_coefficients_are_those_of_the_sound_in_time() -> None:
    length = 1500
    s = complex_rates(HZ, DAMPING)
    sound = np.exp(np.arange(length)[:, None] * s)
    turns = np.exp(-2j * np.pi * np.fft.fftfreq(length))
    sums, slopes = tone_columns(s, turns, length)
    assert sums == pytest.approx(np.fft.fft(sound, axis=0), rel=1e-9, abs=1e-9)
    assert slopes == pytest.approx(np.fft.fft(np.arange(length)[:, None] * sound, axis=0), rel=1e-7, abs=1e-6)


def test_a_tone_on_a_bin_that_does_not_decay_has_a_coefficient_too() -> None:
    sums, slopes = tone_columns(
        np.array([2j * np.pi * 0.1 - 2.5e-7]), np.array([np.exp(-2j * np.pi * 0.1)]), 2000
    )
    assert sums[0, 0] == pytest.approx(2000, rel=1e-3)
    assert abs(slopes[0, 0]) == pytest.approx(2000 * 1999 / 2, rel=1e-3)


def test_without_noise_the_fit_is_exact() -> None:
    band = band_of(ring_downs(0.0), 130, 300)
    start = bent(TRUTH, np.array([1.0, -1.0, 1.5, 0.2, -0.2, 0.1, 0.05]))
    found = fit(band, start).poles
    assert found.hz == pytest.approx(HZ, abs=2e-3)
    assert found.damping == pytest.approx(DAMPING, rel=2e-3)
    assert found.steady_hz == pytest.approx(TRUTH.steady_hz, abs=1e-3)


def test_the_deviance_is_least_at_the_fit_along_every_parameter() -> None:
    band = band_of(ring_downs(NOISE), 130, 300)
    here = fit(band, TRUTH)
    sd = np.sqrt(np.diag(here.covariance))
    for place in range(len(sd)):
        for sign in (-1, 1):
            step = np.zeros(len(sd))
            step[place] = sign * sd[place]
            assert fit(band, bent(here.poles, step), steps=0).deviance > here.deviance + 0.5


def test_the_covariance_is_the_curvature_of_the_deviance() -> None:
    """By differences: a step of one conditional standard error raises the deviance by one."""
    band = band_of(ring_downs(NOISE), 130, 300)
    here = fit(band, TRUTH)
    alone = 1 / np.sqrt(np.diag(np.linalg.inv(here.covariance)))
    for place in range(len(alone)):
        rises = []
        for sign in (-1, 1):
            step = np.zeros(len(alone))
            step[place] = sign * alone[place]
            rises.append(fit(band, bent(here.poles, step), steps=0).deviance - here.deviance)
        assert np.mean(rises) == pytest.approx(1.0, abs=0.12)


def test_standard_errors_are_those_of_repeated_taps() -> None:
    fits = [fit(band_of(ring_downs(NOISE, seed), 130, 300), TRUTH) for seed in range(60)]
    off = np.array([(one.poles.hz - HZ) / np.sqrt(np.diag(one.covariance))[:3] for one in fits])
    # 180 squares of mean 1: their mean is within 0.3 of it but once in two hundred runs
    assert np.mean(off**2) == pytest.approx(1.0, abs=0.3)


def test_more_taps_make_surer() -> None:
    few, many = (fit(band_of(ring_downs(NOISE, taps=taps), 130, 300), TRUTH) for taps in (1, 9))
    ratio = np.sqrt(np.diag(few.covariance) / np.diag(many.covariance))[:3]
    assert ratio.mean() == pytest.approx(3.0, rel=0.4)


def test_the_subspace_holds_the_tones() -> None:
    band = band_of([one for one in ring_downs(NOISE) if one.rings], 120, 320)
    guess = subspace_poles(band, tuple(some.coefficients for some in band.alike), 8)
    for hz in HZ:
        assert np.abs(guess.hz - hz).min() < 2.0


def test_what_is_left_out_is_missed() -> None:
    band: Band = band_of(ring_downs(NOISE), 130, 300)
    here = fit(band, TRUTH)
    for place in range(3):
        without = fit(band, here.poles.without(place), steps=0)
        assert without.deviance - here.deviance == pytest.approx(here.losses[place], rel=1e-6)
