"""The tones of a plate from recorded taps: frequency and damping of each with its uncertainty, hum and room told apart.

The range is worked through in bands: what happens in one says nothing about the next but for the tones' skirts.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from solver.errors import InputError
from solver.measured.band import band_of
from solver.measured.recording import RATE_HZ, Recording
from solver.measured.ring_down import Fit, Poles, fit
from solver.measured.taps import Segment, find_taps
from solver.measured.tone_search import find_tones, steady_tones

LOWEST_HZ, HIGHEST_HZ = 40.0, 1500.0
"""The range in which a plate is listened to."""

_EDGES = (30.0, 150.0, 260.0, 375.0, 500.0, 675.0, 900.0, 1200.0, HIGHEST_HZ)
_MARGIN, _LEAST_MARGIN_HZ, _LOWEST_BIN_HZ = 0.15, 25.0, 15.0
_LONGEST_PERIODS = 240
"""A tone of Q 150 has fallen to a hundredth after so many periods."""

_FAINTEST_DB = -50.0
_LEAST_EXPLAINED, _MOST_TAPS = 0.3, 12
_LEAST_Q, _MOST_Q = 6.0, 400.0


@dataclass(frozen=True)
class Tone:
    """A tone of the plate: frequency [Hz] and Q with standard errors, level [dB] over the strongest, so at most 0."""

    hz: float
    sd_hz: float
    q: float
    sd_q: float
    level_db: float


@dataclass(frozen=True)
class TapTones:
    """What the taps tell: tones from low to high, steady tones [Hz] that are the room's, number of taps, warnings."""

    tones: tuple[Tone, ...]
    steady_hz: tuple[float, ...]
    taps: int
    warnings: tuple[str, ...] = ()


def hear_tones(recordings: Sequence[Recording]) -> TapTones:
    """Return the tones that all taps of the recordings have in common.

    Raises InputError if a recording has no tap that can be used, or no tone stands out of the noise.
    """
    found = [find_taps(recording) for recording in recordings]
    segments, left_out = _first_of([segment for taps in found for segment in taps.segments])
    bands = [_HeardBand(segments, low, high) for low, high in pairwise(_EDGES)]
    tones = tuple(_levelled(_joined([band.tones for band in bands])))
    if not tones or _explained([band for band in bands if band.tones]) < _LEAST_EXPLAINED:
        raise InputError(
            f"{', '.join(recording.name for recording in recordings)}: no tones that ring down stand out of the noise; "
            "expected the sound of a plate. Hold it at a node line, tap it near the microphone, and record again."
        )
    return TapTones(
        tones,
        tuple(sorted(hz for band in bands for hz in band.steady_hz)),
        sum(segment.rings for segment in segments),
        (*(warning for taps in found for warning in taps.warnings), *left_out),
    )


def _first_of(segments: Sequence[Segment]) -> tuple[list[Segment], tuple[str, ...]]:
    """Return the segments up to as many taps as are heard together, and a sentence if there are more."""
    ringing = [segment for segment in segments if segment.rings]
    kept = [*(segment for segment in segments if not segment.rings)][:_MOST_TAPS] + ringing[:_MOST_TAPS]
    if len(ringing) <= _MOST_TAPS:
        return kept, ()
    return kept, (
        f"Of {len(ringing)} taps the first {_MOST_TAPS} were heard: more make the tones hardly surer.",
    )


class _HeardBand:
    """What is heard between two frequencies: ``tones``, ``steady_hz``, and the energies of the ring-downs there.

    ``energy`` is that which neither hum nor skirts account for, ``left`` what the tones leave of it.
    """

    def __init__(self, segments: Sequence[Segment], low: float, high: float) -> None:
        margin = max(_LEAST_MARGIN_HZ, _MARGIN * low)
        around = (max(low - margin, _LOWEST_BIN_HZ), high + margin)
        longest = int(_LONGEST_PERIODS / low * RATE_HZ)
        before = [segment for segment in segments if not segment.rings]
        ringing = [Segment(segment.samples[:longest], True) for segment in segments if segment.rings]
        known = steady_tones(band_of(before, *around)) if before else np.zeros(0)
        band = band_of([*before, *ringing], *around)
        found = find_tones(band, known)
        without = fit(band, Poles(np.zeros(0), np.zeros(0), found.poles.steady_hz), steps=0)
        self.tones = list(_tones_of(found, low, high))
        self.steady_hz = [float(hz) for hz in found.poles.steady_hz if max(low, LOWEST_HZ) <= hz < high]
        self.left, self.energy = found.energy_left(band), without.energy_left(band)


def _explained(bands: Sequence[_HeardBand]) -> float:
    """Return the share of the ring-downs' energy that their tones account for."""
    return 1 - sum(band.left for band in bands) / sum(band.energy for band in bands)


def _tones_of(found: Fit, low: float, high: float) -> Iterator[Tone]:
    """Yield the tones of a band and those just beyond its ends, with their absolute level."""
    sd = np.sqrt(np.diag(found.covariance))
    m = len(found.poles.hz)
    for place in range(m):
        hz, q = float(found.poles.hz[place]), float(found.poles.q[place])
        strength = float(np.sqrt(np.mean(found.strength[:, place] ** 2)))
        tone = Tone(hz, float(sd[place]), q, q * float(sd[m + place]), float(20 * np.log10(strength)))
        if max(low - _seam(tone), LOWEST_HZ) <= hz < high + _seam(tone) and _LEAST_Q < q < _MOST_Q:
            yield tone


def _seam(tone: Tone) -> float:
    """Return how far [Hz] apart two bands may hear one and the same tone: within its width, or its uncertainty."""
    return min(max(0.5 * tone.hz / tone.q, 3 * tone.sd_hz), 0.5 * _LEAST_MARGIN_HZ)


def _joined(bands: Sequence[Sequence[Tone]]) -> list[Tone]:
    """Return the tones of all bands in order; at the seam of two, where both hear a tone, the surer figures count."""
    kept: list[Tone] = []
    for tones in bands:
        for tone in tones:
            twin = next(
                (old for old in kept if old not in tones and abs(old.hz - tone.hz) < _seam(tone)), None
            )
            if twin is None:
                kept.append(tone)
            elif tone.sd_hz < twin.sd_hz:
                kept[kept.index(twin)] = tone
    return sorted(kept, key=lambda tone: tone.hz)


def _levelled(tones: Sequence[Tone]) -> Iterator[Tone]:
    """Yield the tones with their level over the strongest; what is 50 dB under it says nothing."""
    loudest = max((tone.level_db for tone in tones), default=0.0)
    for tone in tones:
        if tone.level_db - loudest > _FAINTEST_DB:
            yield replace(tone, level_db=tone.level_db - loudest)
