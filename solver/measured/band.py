"""The sound of all taps between two frequencies: Fourier coefficients, and those of a damped tone in closed form.

    sum_n z^n e^(-i w n) = (1 - (z e^(-iw))^N) / (1 - z e^(-iw)),    z = exp((-d + 2 pi i f) / rate)

over the N samples of a segment: nothing is filtered, and no part of a ring-down is lost. The skirts of tones outside
the band are a smooth curve in it, a polynomial of third order.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from solver.arrays import Floats
from solver.measured.recording import RATE_HZ
from solver.measured.taps import Segment

Complexes = np.ndarray[tuple[int, ...], np.dtype[np.complex128]]

_SKIRT_ORDER = 3
_PARTS, _POWERS, _NOTHING = 5, (-8.0, 2.0), 1e-30


@dataclass(frozen=True, eq=False)
class Band:
    """Fourier coefficients (b,) of each segment between two frequencies [Hz].

    All are weighed by ``weights`` (b,), so that a room that rumbles counts alike at both ends of the band. ``hz`` (b,) and
    ``turns`` exp(-i w) (b,) of the bins, ``skirts`` (2b, 8) real and imaginary polynomials over the band;
    ``lengths`` of the segments in samples, and whether the plate ``rings`` in each.
    """

    low: float
    high: float
    hz: tuple[Floats, ...]
    turns: tuple[Complexes, ...]
    weights: tuple[Floats, ...]
    skirts: tuple[Floats, ...]
    coefficients: tuple[Complexes, ...]
    lengths: tuple[int, ...]
    rings: tuple[bool, ...]

    @property
    def taps(self) -> int:
        """How many segments ring."""
        return sum(self.rings)


def band_of(segments: Sequence[Segment], low: float, high: float) -> Band:
    """Return what of the segments lies between two frequencies [Hz]."""
    hz: list[Floats] = []
    coefficients: list[Complexes] = []
    for segment in segments:
        bins = np.fft.rfftfreq(len(segment.samples), 1 / RATE_HZ).astype(float)
        inside = (bins >= low) & (bins <= high)
        hz.append(bins[inside])
        coefficients.append(np.fft.rfft(segment.samples)[inside])
    before = [k for k, segment in enumerate(segments) if not segment.rings]
    power = _room_power([hz[k] for k in before], [coefficients[k] for k in before])
    weights = [(bins / high) ** (-power / 2) for bins in hz]
    return Band(
        low,
        high,
        tuple(hz),
        tuple(np.exp(-2j * np.pi * bins / RATE_HZ) for bins in hz),
        tuple(weights),
        tuple(np.tile(w, 2)[:, None] * _skirts(bins, low, high) for w, bins in zip(weights, hz, strict=True)),
        tuple(w * one for w, one in zip(weights, coefficients, strict=True)),
        tuple(len(segment.samples) for segment in segments),
        tuple(segment.rings for segment in segments),
    )


def _room_power(hz: Sequence[Floats], coefficients: Sequence[Complexes]) -> float:
    """Return the power of frequency with which the room's noise goes over the band; 0 where the room is not known.

    From the medians over parts of the band, which lines of hum do not move.
    """
    if not hz:
        return 0.0
    bins, power = np.concatenate(hz), np.abs(np.concatenate(coefficients)) ** 2
    edges = np.geomspace(bins.min(), bins.max() * (1 + 1e-9), _PARTS + 1)
    parts = [(bins >= low) & (bins < high) for low, high in pairwise(edges)]
    middles = np.array([np.log(np.median(power[part]) + _NOTHING) for part in parts if part.any()])
    places = np.array([np.log(np.median(bins[part])) for part in parts if part.any()])
    if len(places) < _PARTS or np.ptp(places) == 0:
        return 0.0
    return float(np.clip(np.polyfit(places, middles, 1)[0], *_POWERS))


def tone_columns(s: Complexes, turns: Complexes, length: int) -> tuple[Complexes, Complexes]:
    """Return Fourier coefficients (b, m) of ``exp(n s)``, 0 <= n < N, and their derivatives by s (m,).

    ``turns`` (b,) is ``exp(-i w)`` of each; since these are whole multiples of rate over N, ``exp(-i w N) = 1``.
    """
    turned = turns[:, None] * np.exp(s)
    rest = 1 / (1 - turned)
    sums = -np.expm1(length * s) * rest
    return sums, -length * np.exp(length * s) * rest + sums * turned * rest


def complex_rates(hz: Floats, damping: Floats) -> Complexes:
    """Return ``ln z`` (m,) of damped tones."""
    return np.asarray((-damping + 2j * np.pi * hz) / RATE_HZ)


def _skirts(bins: Floats, low: float, high: float) -> Floats:
    """Return polynomials (2b, 2 (order + 1)) over the band, real and imaginary."""
    across = (2 * bins - low - high) / (high - low)
    powers = np.polynomial.legendre.legvander(across, _SKIRT_ORDER)
    nothing = np.zeros_like(powers)
    return np.block([[powers, nothing], [nothing, powers]])
