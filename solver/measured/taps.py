"""The taps in a recording: where each begins, where the plate is left to itself, and what sounded before.

A knuckle or fingertip strikes for a few thousandths of a second (common practice, no source); only after that do the modes
ring down freely. Steps of the sound stand out of hum and slow rumble, so taps are looked for in them.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import maximum_filter1d, uniform_filter1d
from scipy.signal import butter, oaconvolve, sosfilt

from solver.core.arrays import Floats, freeze
from solver.core.errors import InputError
from solver.measured.recording import RATE_HZ, Recording

CONTACT_S = 0.004
"""From the first sign of a tap until the plate is left to itself."""

LONGEST_S = 1.0
"""A plate has fallen silent by then: the slowest of its modes rings down by e in 0.3 s."""

SHORTEST_S = 0.12
"""Less than this of a ring-down tells low tones apart from nothing."""

_HOP_S, _AFTER_S, _BEFORE_S, _APART_S = 0.002, 0.010, 0.100, 0.060
_UNSETTLED_S, _ROOM_WINDOW = 0.05, 2048
_RISE = 3.0
_FAINTEST = 10.0 ** (-26 / 10)
_FALL, _QUIET = 3.0, 2.0
_CLEAR = 10.0
_LEAST_LEAD_S = 0.15
_GUARD_S = 0.002


@dataclass(frozen=True, eq=False)
class Segment:
    """A stretch of sound (n,) at 4000 Hz: the plate rings down from its first sample, or has not been tapped yet."""

    samples: Floats
    rings: bool

    def __post_init__(self) -> None:
        freeze(self, samples=((None,), float))


@dataclass(frozen=True, eq=False)
class Taps:
    """The taps at ``seconds`` in the recording; their ring-downs and, if there is one, the lead-in as ``segments``."""

    seconds: tuple[float, ...]
    segments: tuple[Segment, ...]
    warnings: tuple[str, ...] = ()


def find_taps(recording: Recording) -> Taps:
    """Return the taps of a recording with their ring-downs, each up to the next tap or for a second.

    Raises
    ------
    InputError
        If there is no tap, or no ring-down that is long enough, free of clipping and louder than the room.
    """
    starts: list[int] = []
    if recording.seconds >= SHORTEST_S:
        sound = _against_the_room(recording.samples)
        loud = _loudness(sound)
        starts = [_first_sign(sound, start) for start in _rises(loud)]
    if not starts:
        raise InputError(
            f"{recording.name}: there is no tap in it; expected a knock that stands out of the room's noise and rings "
            "down. Hold the plate at a node line, tap it lightly near the microphone, and record again."
        )
    ends = [*starts[1:], len(sound)]
    kept, spoiled = [], []
    for start, end in zip(starts, ends, strict=True):
        spoil = _spoil(recording, loud, start, end)
        (spoiled.append(spoil) if spoil else kept.append((start, _free(recording, start), end)))
    if not kept:
        raise InputError(f"{recording.name}: {_CURES[max(set(spoiled), key=spoiled.count)]}")
    guard = int(_GUARD_S * RATE_HZ)
    ringing = tuple(
        Segment(recording.samples[free : min(free + int(LONGEST_S * RATE_HZ), end - guard)], True)
        for _, free, end in kept
    )
    lead = recording.samples[max(0, starts[0] - int(LONGEST_S * RATE_HZ)) : max(0, starts[0] - 2 * guard)]
    before = (Segment(lead, False),) if len(lead) >= _LEAST_LEAD_S * RATE_HZ else ()
    level = float(
        np.median(
            [loud[int(start / RATE_HZ / _HOP_S) :][: int(_AFTER_S / _HOP_S)].mean() for start, *_ in kept]
        )
    )
    warnings = (*recording.warnings, *_warnings(recording.name, spoiled, bool(before), level))
    return Taps(tuple(start / RATE_HZ for start, _, _ in kept), (*before, *ringing), warnings)


_CURES = {
    "clipped": "the sound is clipped, its peaks are cut off; expected a recording below full scale. Tap more lightly or "
    "farther from the microphone, and record again.",
    "short": "the sound after the tap is too short; expected at least 0.12 s before the next tap or the end. Wait a "
    "second after each tap.",
    "steady": "what begins does not ring down as a tapped plate does; expected single taps with silence between. "
    "Record taps of the plate alone.",
}


def _warnings(name: str, spoiled: list[str], lead: bool, level: float) -> Iterator[str]:
    words = {"clipped": "clipped", "short": "too short", "steady": "not a tap, since it does not ring down"}
    for spoil in sorted(set(spoiled)):
        times = spoiled.count(spoil)
        yield f"{name}: {times} tap{'s' if times > 1 else ''} left out: {words[spoil]}."
    if level < _CLEAR:
        yield (
            f"{name}: the taps hardly stand out of the noise, so faint tones are lost and the others less sure. "
            "Record nearer to the plate, in a quieter room."
        )
    if not lead:
        yield (
            f"{name}: nothing was recorded before the first tap, so hum and room tones are told by not decaying alone. "
            "Wait a second before you tap."
        )


def _rises(loud: Floats) -> list[int]:
    """Return the samples near which the sound jumps up over what it was, and over what the room makes."""
    after, before = int(_AFTER_S / _HOP_S), int(_BEFORE_S / _HOP_S)
    if len(loud) < after + before:
        return []
    sums = np.concatenate([[0.0], np.cumsum(loud)])
    ahead = (sums[after:] - sums[:-after]) / after
    # the loudest while before, so that tones which beat are no new tap
    behind = np.concatenate([np.zeros(after), maximum_filter1d(ahead, before, origin=before // 2 - 1)])[
        : len(ahead)
    ]
    rise = ahead / np.maximum(behind, 1.0)
    apart = int(_APART_S / _HOP_S)
    peaks = (rise == maximum_filter1d(rise, 2 * apart + 1)) & (rise > _RISE)
    peaks &= ahead > _FAINTEST * ahead.max()
    peaks[: int(_UNSETTLED_S / _HOP_S)] = False  # the room's filter has not seen enough of the room yet
    return [int(frame * _HOP_S * RATE_HZ) for frame in np.flatnonzero(peaks)]


def _against_the_room(samples: Floats) -> Floats:
    """Return the sound (n,) with what the room makes all the time brought to one level, 1 in every band and line of it.

    The room's spectrum is taken from the quieter half-seconds; the filter is its inverse, turned to minimum phase by way of
    the cepstrum (Oppenheim and Schafer) so that nothing of a tap comes before it.
    """
    size = min(_ROOM_WINDOW, len(samples) // 2 * 2)
    frames = np.lib.stride_tricks.sliding_window_view(samples, size)[:: size // 4]
    power = np.abs(np.fft.rfft(frames * np.hanning(size), axis=1)) ** 2 / np.sum(np.hanning(size) ** 2)
    room = np.quantile(power, 0.25, axis=0)
    least = 1e-9 * float(power.max()) + 1e-20
    cepstrum = np.fft.irfft(-0.5 * np.log(room + least))
    cepstrum[1 : size // 2] *= 2
    cepstrum[size // 2 + 1 :] = 0
    response = np.fft.irfft(np.exp(np.fft.rfft(cepstrum)))
    whole = oaconvolve(samples, response)[: len(samples)]
    return np.asarray(sosfilt(butter(2, (60, 1500), "bandpass", fs=RATE_HZ, output="sos"), whole))


def _loudness(sound: Floats) -> Floats:
    """Return the power of the sound in each frame of two milliseconds over that of its quieter times."""
    hop = int(_HOP_S * RATE_HZ)
    count = len(sound) // hop
    power = (sound[: count * hop].reshape(count, hop) ** 2).mean(axis=1)
    quiet = float(np.quantile(uniform_filter1d(power, int(0.05 / _HOP_S)), 0.25))
    return np.asarray(power / (quiet + 1e-9 * power.max() + 1e-30))


def _first_sign(sound: Floats, near: int) -> int:
    """Return the first sample of the tap: there the sound leaves the room's, or a sixth of its height to come."""
    low, high = max(0, near - int(0.006 * RATE_HZ)), near + int(0.024 * RATE_HZ)
    before = sound[max(0, low - int(0.03 * RATE_HZ)) : max(low, 1)]
    height = float(np.abs(sound[low:high]).max())
    level = max(4 * float(np.sqrt(np.mean(before**2))), 0.15 * height)
    return low + int(np.argmax(np.abs(sound[low:high]) >= min(level, 0.5 * height)))


def _free(recording: Recording, start: int) -> int:
    """Return the first sample at which the plate is left to itself and no peak is cut off any more."""
    free = start + int(CONTACT_S * RATE_HZ)
    cut = np.flatnonzero(recording.clipped[start : start + int(0.05 * RATE_HZ)])
    return max(free, start + int(cut[-1]) + 2) if len(cut) else free


def _spoil(recording: Recording, loud: Floats, start: int, end: int) -> str:
    """Return what makes the sound between two samples no ring-down: clipped, short, steady; empty if nothing does."""
    free, guard = _free(recording, start), int(_GUARD_S * RATE_HZ)
    if recording.clipped[free : end - guard].any():
        return "clipped"
    if end - guard - free < SHORTEST_S * RATE_HZ:
        return "short"
    frames = loud[int(free / RATE_HZ / _HOP_S) : int(min(end, free + LONGEST_S * RATE_HZ) / RATE_HZ / _HOP_S)]
    part = int(0.03 / _HOP_S)
    early, late = float(frames[:part].mean()), float(np.median(frames[-part:]))
    return "" if late < max(early / _FALL, _QUIET) else "steady"
