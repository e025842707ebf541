"""The spectrum of the taps, to look at: no figure is read from it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats, freeze
from solver.measured.recording import RATE_HZ, Recording
from solver.measured.taps import Segment, find_taps

_SHOWN = RATE_HZ // 2
_PADDED = 8000
_LEAST = 1e-12


@dataclass(frozen=True, eq=False)
class Spectrum:
    """Mean level of the taps (b,) [dB] under their highest at ``hz`` (b,), and of the room before; none recorded: empty."""

    hz: Floats
    taps_db: Floats
    room_db: Floats

    def __post_init__(self) -> None:
        freeze(self, hz=((None,), float), taps_db=((len(self.hz),), float), room_db=((None,), float))


def tap_spectrum(recordings: Sequence[Recording]) -> Spectrum:
    """Return the mean spectrum of all taps of the recordings, half a second of each, fading out.

    Raises InputError if a recording has no tap that can be used.
    """
    segments = [segment for recording in recordings for segment in find_taps(recording).segments]
    taps = np.mean([_faded_out(segment.samples[:_SHOWN]) for segment in segments if segment.rings], axis=0)
    before = [power for segment in segments if not segment.rings for power in _room(segment)]
    top = float(taps.max())
    return Spectrum(
        np.fft.rfftfreq(_PADDED, 1 / RATE_HZ).astype(float),
        np.asarray(10 * np.log10(taps / top + _LEAST), dtype=float),
        10 * np.log10(np.mean(before, axis=0) / top + _LEAST) if before else np.zeros(0),
    )


def _faded_out(sound: Floats) -> Floats:
    """Return the power (b,) of a ring-down, let fade so that its end leaves no trace."""
    fade = np.cos(0.5 * np.pi * np.arange(len(sound)) / len(sound)) ** 2
    return _power(sound, fade)


def _room(segment: Segment) -> Iterator[Floats]:
    """Yield the power (b,) of the overlapping halves of a second in what was recorded before the taps."""
    sound = segment.samples
    for start in range(0, max(len(sound) - _SHOWN, 0) + 1, _SHOWN // 4):
        part = sound[start : start + _SHOWN]
        yield _power(part, np.sin(np.pi * np.arange(len(part)) / len(part)) ** 2)


def _power(sound: Floats, fade: Floats) -> Floats:
    return np.asarray(np.abs(np.fft.rfft(sound * fade, _PADDED)) ** 2 / np.sum(fade**2))
