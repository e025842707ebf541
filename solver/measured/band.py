"""The sound of all taps between two frequencies: Fourier coefficients, and those of a damped tone in closed form.

    sum_n z^n e^(-i w n) = (1 - (z e^(-iw))^N) / (1 - z e^(-iw)),    z = exp((-d + 2 pi i f) / rate)

over the N samples of a segment: nothing is filtered, and no part of a ring-down is lost. The skirts of tones outside
the band are a smooth curve in it, a polynomial of third order.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from solver.core.arrays import Floats
from solver.measured.recording import RATE_HZ
from solver.measured.taps import Segment

Complexes = np.ndarray[tuple[int, ...], np.dtype[np.complex128]]

_SKIRT_ORDER = 3
_PARTS, _POWERS, _NOTHING = 5, (-8.0, 2.0), 1e-30


@dataclass(frozen=True, eq=False)
class Alike:
    """Segments of one length, so that a tone has the same columns in all: those at ``places`` (k,) of the segments given.

    Fourier ``coefficients`` (b, k) at ``hz`` (b,), where ``turns`` (b,) is exp(-i w), weighed by ``weights`` (b,);
    ``skirts`` (2b, 8) real and imaginary polynomials over the band; ``length`` in samples, and whether the plate ``rings``.
    """

    places: tuple[int, ...]
    length: int
    rings: bool
    hz: Floats
    turns: Complexes
    weights: Floats
    skirts: Floats
    coefficients: Complexes

    def columns(self, s: Complexes) -> tuple[Complexes, Complexes]:
        """Return the weighed coefficients (b, m) of tones ``exp(n s)`` and their derivatives by s (m,)."""
        sums, slopes = tone_columns(s, self.turns, self.length)
        return self.weights[:, None] * sums, self.weights[:, None] * slopes


@dataclass(frozen=True, eq=False)
class Band:
    """What each segment holds between two frequencies [Hz].

    All is weighed so that a room that rumbles counts alike at both ends of the band.
    """

    low: float
    high: float
    alike: tuple[Alike, ...]

    @property
    def taps(self) -> int:
        """How many segments ring."""
        return sum(len(some.places) for some in self.alike if some.rings)

    @property
    def segments(self) -> int:
        """How many segments there are."""
        return sum(len(some.places) for some in self.alike)

    @property
    def before(self) -> "Band":
        """What was recorded before the taps."""
        return replace(self, alike=tuple(some for some in self.alike if not some.rings))

    def without(self, s: Complexes, amplitudes: Complexes) -> "Band":
        """Return the band without the tones ``a exp(n s) + conj(a exp(n s))``, ``s`` (m,), ``amplitudes`` (segments, m)."""
        left = []
        for some in self.alike:
            here = amplitudes[list(some.places)].T
            known = some.columns(s)[0] @ here + some.columns(s.conj())[0] @ here.conj()
            left.append(replace(some, coefficients=some.coefficients - known))
        return replace(self, alike=tuple(left))


def band_of(segments: Sequence[Segment], low: float, high: float) -> Band:
    """Return what of the segments lies between two frequencies [Hz]."""
    kinds: dict[tuple[int, bool], list[int]] = {}
    for k, segment in enumerate(segments):
        kinds.setdefault((len(segment.samples), segment.rings), []).append(k)
    alike = [_alike(segments, places, low, high) for places in kinds.values()]
    power = _room_power([some for some in alike if not some.rings])
    return Band(low, high, tuple(_weighed(some, (some.hz / high) ** (-power / 2)) for some in alike))


def _alike(segments: Sequence[Segment], places: Sequence[int], low: float, high: float) -> Alike:
    first = segments[places[0]]
    bins = np.fft.rfftfreq(len(first.samples), 1 / RATE_HZ).astype(float)
    inside = (bins >= low) & (bins <= high)
    hz = bins[inside]
    return Alike(
        tuple(places),
        len(first.samples),
        first.rings,
        hz,
        np.exp(-2j * np.pi * hz / RATE_HZ),
        np.ones(len(hz)),
        _skirts(hz, low, high),
        np.stack([np.fft.rfft(segments[k].samples)[inside] for k in places], axis=1),
    )


def _weighed(some: Alike, weights: Floats) -> Alike:
    return replace(
        some,
        weights=weights,
        skirts=np.tile(weights, 2)[:, None] * some.skirts,
        coefficients=weights[:, None] * some.coefficients,
    )


def _room_power(before: Sequence[Alike]) -> float:
    """Return the power of frequency with which the room's noise goes over the band; 0 where the room is not known.

    From the medians over parts of the band, which lines of hum do not move; nor do their skirts, since neighbouring
    coefficients are taken together to those of sound that fades in and out (Hann).
    """
    if not before:
        return 0.0
    bins = np.concatenate([np.repeat(some.hz[1:-1], len(some.places)) for some in before])
    fading = [c[1:-1] - (c[:-2] + c[2:]) / 2 for c in (some.coefficients for some in before)]
    power = np.abs(np.concatenate([c.ravel() for c in fading])) ** 2
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
