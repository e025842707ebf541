"""Which tones a band holds: as many as the sound of the taps calls for, and no more.

A tone is taken in where it makes the sound more likely by far than noise could: twice the gain of the log likelihood is
chi-square with as many degrees of freedom as the tone has parameters (Wilks 1938).
"""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import numpy as np
from scipy.stats import chi2

from solver.core.arrays import Floats
from solver.measured.band import Band, complex_rates
from solver.measured.poles import MOST_Q, Poles
from solver.measured.recording import RATE_HZ
from solver.measured.ring_down import Fit, fit
from solver.measured.subspace import subspace_poles

CHANCE = 1e-6
"""How often noise alone may pass for a tone, at one place of the search."""

_MOST_TONES = 14
_GUESSED = 8
_TRIED_Q = (10.0, 25.0, 60.0, 150.0)
_SLOW_DAMPING = 3.0
_WORTH_A_FIT = 0.5


def steady_tones(before: Band) -> Floats:
    """Return the frequencies [Hz] of the tones that sound before the tap: hum, fans, whatever does not come of it."""
    if not before.segments:
        return np.zeros(0)
    gain = least_gain(before.segments, 1)
    here = fit(before, Poles.none())
    for _ in range(_MOST_TONES):
        bins, power = _power_left(before, here)
        tried = fit(before, here.poles.joined(_steady(bins[[power.argmax()]])))
        if here.deviance - tried.deviance < gain or _crowded(tried.poles.steady_hz, before):
            break
        here = tried
    return here.poles.steady_hz


def find_tones(band: Band, steady_hz: Floats) -> Fit:
    """Return the tones of a band, given those that sound all the time.

    A first guess from the signal subspace is fitted and thinned out; then what is left is searched for further tones; what
    turns out not to decay is counted among the steady ones.
    """
    here = fit(band, _steady(steady_hz))
    guess = here.poles.joined(subspace_poles(band, here.left, _GUESSED))
    return find_tones_near(band, guess, len(steady_hz))


def find_tones_near(band: Band, guess: Poles, known: int) -> Fit:
    """Return the tones of a band as `find_tones`, from a guess whose first ``known`` steady tones are not doubted."""
    worth = _worth_fitting(band, fit(band, guess, steps=0))
    here = _told_from_steady(band, _thinned_out(band, fit(band, worth.poles)), known)
    while len(here.poles.hz) < _MOST_TONES:
        tried = _with_one_more(band, here)
        if tried is None:
            break
        here = tried
    return _told_from_steady(band, _thinned_out(band, here), known)


def _with_one_more(band: Band, here: Fit) -> Fit | None:
    gain = least_gain(band.taps, 2)
    for candidate in _candidates(band, here):
        tried = fit(band, here.poles.joined(candidate))
        if here.deviance - tried.deviance > gain:
            return tried
    return None


def _thinned_out(band: Band, here: Fit) -> Fit:
    """Return the fit without the tones that the sound does not call for, the least first."""
    gain = least_gain(band.taps, 2)
    while True:
        for place in _doubtful(here, 4 * gain):
            enough = here.deviance + gain
            without = fit(band, here.poles.without(place), enough=enough)
            if without.deviance < enough:
                here = without
                break
        else:
            return here


def _doubtful(here: Fit, sure: float) -> list[int]:
    """Return the tones that may be one too many: what brings little, or has a neighbour that could take its place."""
    width = here.poles.damping / np.pi
    apart = np.abs(here.poles.hz[:, None] - here.poles.hz) + np.diag(np.full(len(width), np.inf))
    crowded = np.asarray((apart < width[:, None] + width).any(axis=1))
    return [int(place) for place in np.argsort(here.losses) if here.losses[place] < sure or crowded[place]]


def _worth_fitting(band: Band, here: Fit) -> Fit:
    """Return guessed tones without those that even with the others as they are bring too little."""
    gain = least_gain(band.taps, 2)
    while len(here.poles.hz) and here.losses.min() < _WORTH_A_FIT * gain:
        here = fit(band, here.poles.without(int(here.losses.argmin())), steps=0)
    return here


def _told_from_steady(band: Band, here: Fit, known: int) -> Fit:
    """Return the fit with slow tones made steady wherever that explains the sound as well.

    Of the steady tones the first ``known`` were there before the tap; those that are new have to be called for.
    """
    for hz, damping in zip(here.poles.hz, here.poles.damping, strict=True):
        if damping > _SLOW_DAMPING and np.pi * hz / damping < MOST_Q / 2:
            continue
        place = int(np.abs(here.poles.hz - hz).argmin())
        enough = here.deviance + least_gain(0, 1)
        tried = fit(band, here.poles.without(place).joined(_steady(np.array([hz]))), enough=enough)
        if tried.deviance < enough:
            here = tried
    for place in range(len(here.poles.steady_hz) - 1, known - 1, -1):
        rest = replace(here.poles, steady_hz=np.delete(here.poles.steady_hz, place))
        enough = here.deviance + least_gain(band.taps, 1)
        without = fit(band, rest, enough=enough)
        if without.deviance < enough:
            here = without
    return here


def _candidates(band: Band, here: Fit) -> Iterator[Poles]:
    """Yield places where what is left looks most like a tone, the best for each damping."""
    found = []
    for q in _TRIED_Q:
        hz = np.arange(band.low, band.high, max(1.0, 0.3 * band.low / q))
        damping = np.pi * hz / q
        match = np.zeros(len(hz))
        for some, left, noise in zip(band.alike, here.left, here.noise, strict=True):
            if some.rings:
                column = some.columns(complex_rates(hz, damping))[0]
                energy = (np.abs(column) ** 2).sum(axis=0)
                match += (np.abs(column.conj().T @ left) ** 2 / noise**2).sum(axis=1) / energy
        best = int(match.argmax())
        found.append((float(match[best]), hz[best], damping[best]))
    for match_there, hz, damping in sorted(found, reverse=True)[:2]:
        if match_there > _WORTH_A_FIT * least_gain(band.taps, 2):
            yield Poles(np.array([hz]), np.array([damping]), np.zeros(0))


def _power_left(band: Band, here: Fit) -> tuple[Floats, Floats]:
    """Return bins (b,) and the power left in them, over the noise, summed over the segments where their bins agree."""
    longest = max(band.alike, key=lambda some: some.length)
    bins = longest.hz
    power = np.zeros(len(bins))
    for some, left, noise in zip(band.alike, here.left, here.noise, strict=True):
        power += np.interp(bins, some.hz, (np.abs(left) ** 2 / noise**2).sum(axis=1))
    return bins, power


def _crowded(hz: Floats, band: Band) -> bool:
    """Tell whether two steady tones lie nearer than the segments can part."""
    return len(hz) > 1 and float(np.diff(np.sort(hz)).min()) < 0.5 * RATE_HZ / max(
        some.length for some in band.alike
    )


def _steady(hz: Floats) -> Poles:
    return Poles(np.zeros(0), np.zeros(0), hz)


@cache
def least_gain(taps: int, shared: int) -> float:
    """Return by how much a tone in so many taps, with so many ``shared`` parameters, must lower the deviance to count."""
    return float(chi2.isf(CHANCE, shared + 2 * taps))
