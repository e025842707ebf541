"""What is heard between two frequencies: first by itself, then beside what was heard elsewhere.

Tones outside the band reach into it with their skirts. At first these are a smooth curve over the band, which near its
ends is rough against quiet noise; once the tones that make them are known, the skirts are taken off.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats
from solver.measured.band import Band, Complexes, band_of, complex_rates
from solver.measured.poles import STEADY_DAMPING, Poles
from solver.measured.recording import RATE_HZ
from solver.measured.ring_down import Fit, fit
from solver.measured.taps import Segment
from solver.measured.tone_search import find_tones, find_tones_near, least_gain, steady_tones

_MARGIN, _LEAST_MARGIN_HZ, _LOWEST_BIN_HZ = 0.15, 25.0, 15.0
_LONGEST_PERIODS = 240
"""A tone of Q 150 has fallen to a hundredth after so many periods."""

_STEP_S, _LEAST_STEPS = 0.1, 4
_LEAST_Q, _MOST_Q = 6.0, 400.0
SURE = 0.04
"""Standard error of a frequency, as a share of the tone's width, under which it is surely heard."""


@dataclass(frozen=True, eq=False)
class Sounding:
    """A tone: frequency [Hz] and damping [1/s] with standard errors, root mean square strength [full scale] in the taps.

    ``amplitudes`` (segments,) of ``exp(n s)`` in each segment, of which the tone is twice the real part. ``energy`` is
    that of all taps over the noise's in one real coefficient, a tone's log likelihood.
    """

    hz: float
    sd_hz: float
    damping: float
    sd_damping: float
    strength: float
    energy: float
    amplitudes: Complexes

    @property
    def q(self) -> float:
        """Quality factor: the frequency over the half-power width."""
        return float(np.pi * self.hz / self.damping)

    @property
    def sd_q(self) -> float:
        """Standard error of the quality factor."""
        return self.q * self.sd_damping / self.damping

    @property
    def is_sure(self) -> bool:
        """Whether its frequency is known to a small part of its width, as of a tone far out of the noise."""
        return self.sd_hz < SURE * self.hz / self.q

    @property
    def parts_hz(self) -> float:
        """How far apart [Hz] two modes that all taps strike alike must be to be surely told from one tone of their kind.

        Two tones ``delta`` apart are one of their mean and ``(pi delta)^2 t^2 / 2`` times it. What of ``t^2 exp(-d t)`` is
        in neither the tone nor its change with frequency and damping, as Laguerre's functions tell, has the
        share ``1 / (4 d^4)`` of the tone's energy E. The two are told apart half the time where their gain is that G which
        calls for a tone, and nearly always where it is twice as much:

            E (delta / w)^4 / 16 = 2 G,        w = d / pi, the half-power width
        """
        taps = int(np.count_nonzero(self.amplitudes))
        width = self.damping / np.pi
        return float(2 * width * (2 * least_gain(taps, 2) / self.energy) ** 0.25)

    @property
    def seam_hz(self) -> float:
        """How far apart two bands may hear one and the same tone: within its width, or its uncertainty."""
        return min(max(0.5 * self.hz / self.q, 3 * self.sd_hz), 0.5 * _LEAST_MARGIN_HZ)


@dataclass(frozen=True, eq=False)
class HeardBand:
    """What the segments hold from ``low`` to ``high`` [Hz]; ``band`` reaches a margin beyond.

    The first ``known`` of the steady tones found sounded before the tap.
    """

    low: float
    high: float
    band: Band
    known: int
    found: Fit

    def tones(self) -> Iterator[Sounding]:
        """Yield the tones that ring down in the band and just beyond its ends."""
        poles, m = self.found.poles, len(self.found.poles.hz)
        sd, energies = np.sqrt(np.diag(self.found.covariance)), self._tone_energies()
        for place, (hz, damping) in enumerate(zip(poles.hz, poles.damping, strict=True)):
            tone = Sounding(
                float(hz),
                float(sd[place]),
                float(damping),
                float(damping * sd[m + place]),
                float(np.sqrt(np.mean(self.found.strength[:, place] ** 2))),
                float(energies[place]),
                self.found.amplitudes[:, place],
            )
            if self.low - tone.seam_hz <= hz < self.high + tone.seam_hz and _LEAST_Q < tone.q < _MOST_Q:
                yield tone

    def _tone_energies(self) -> Floats:
        poles, total = self.found.poles, np.zeros(len(self.found.poles.hz))
        for some, noise in zip(self.band.alike, self.found.noise, strict=True):
            if some.rings:
                columns = np.abs(some.columns(complex_rates(poles.hz, poles.damping))[0]) ** 2
                sizes = np.abs(self.found.amplitudes[list(some.places), : len(total)]) ** 2
                total += columns.sum(axis=0) * (sizes / noise[:, None] ** 2).sum(axis=0)
        return total

    def steady(self) -> Iterator[Sounding]:
        """Yield the steady tones in the band."""
        m = len(self.found.poles.hz)
        for place, hz in enumerate(self.found.poles.steady_hz):
            if self.low <= hz < self.high:
                amplitudes = self.found.amplitudes[:, m + place]
                yield Sounding(float(hz), 0.0, STEADY_DAMPING, 0.0, 0.0, 0.0, amplitudes)

    def energies(self) -> tuple[float, float]:
        """Return the energy of the ring-downs that neither hum nor skirts account for, and what the tones leave of it."""
        bare = Poles(np.zeros(0), np.zeros(0), self.found.poles.steady_hz)
        return fit(self.band, bare, steps=0).energy_left(self.band), self.found.energy_left(self.band)


def listen(segments: Sequence[Segment], low: float, high: float) -> HeardBand:
    """Return what the segments hold between two frequencies [Hz], as far as that can be told without the rest."""
    margin = max(_LEAST_MARGIN_HZ, _MARGIN * low)
    around = (max(low - margin, _LOWEST_BIN_HZ), high + margin)
    before = [segment for segment in segments if not segment.rings]
    ringing = [_shortened(segment, _LONGEST_PERIODS / low) for segment in segments if segment.rings]
    band = band_of([*before, *ringing], *around)
    known = steady_tones(band.before)
    return HeardBand(low, high, band, len(known), find_tones(band, known))


def listen_again(first: HeardBand, tones: Sequence[Sounding], steady: Sequence[Sounding]) -> HeardBand:
    """Return what is heard in a band once it is known which tones ring down and which are steady, in it and elsewhere.

    The skirts of those that lie beyond its margins are taken off; the others are what the search begins with.
    """
    band = first.band
    far = [tone for tone in (*tones, *steady) if not band.low <= tone.hz <= band.high]
    near = [tone for tone in tones if band.low <= tone.hz <= band.high]
    hz, damping = _poles(far)
    amplitudes = np.array([tone.amplitudes for tone in far], complex).reshape(len(far), band.segments).T
    bared = band.without(complex_rates(hz, damping), amplitudes)
    known = steady_tones(bared.before)
    since = first.found.poles.steady_hz[first.known :]
    found = find_tones_near(bared, Poles(*_poles(near), np.concatenate([known, since])), len(known))
    return HeardBand(first.low, first.high, bared, len(known), found)


def _poles(tones: Sequence[Sounding]) -> tuple[Floats, Floats]:
    return np.array([tone.hz for tone in tones]), np.array([tone.damping for tone in tones])


def _shortened(segment: Segment, longest_s: float) -> Segment:
    """Return a ring-down without its silent end, in steps of a length that many taps share: these are read at one go."""
    count = min(len(segment.samples), int(longest_s * RATE_HZ))
    step = int(_STEP_S * RATE_HZ)
    return Segment(segment.samples[: count // step * step if count > _LEAST_STEPS * step else count], True)
