"""The tones of a plate from recorded taps: frequency and damping of each with its uncertainty, hum and room told apart.

The range is worked through in bands, since what happens in one says nothing about the next but for the tones' skirts:
twice, the second time without the skirts of what was heard in the others.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from solver.core.errors import InputError
from solver.measured.heard_band import SURE, HeardBand, Sounding, listen, listen_again
from solver.measured.recording import Recording
from solver.measured.taps import Segment, find_taps

LOWEST_HZ, HIGHEST_HZ = 40.0, 1500.0
"""The range in which a plate is listened to."""

_EDGES = (30.0, 157.0, 263.0, 373.0, 507.0, 677.0, 907.0, 1217.0, HIGHEST_HZ)
"""None of them near a harmonic of the mains, nor the ends of their margins."""

_FAINTEST_DB = -50.0
_LEAST_EXPLAINED, _MOST_TAPS = 0.3, 12
_CROWD, _CROWDED_HZ = 20, 18.0
"""The largest plate, a cello's back, has a mode in 20 Hz (from the modal model)."""

_FEW, _THICK_HZ = 10, 12.0
"""Ten modes of it stand 13 Hz apart where they lie closest (from the modal model, as of a cello's top)."""

_UNSURE = 0.65
"""So large a share of tones that follow no ring-down well is what strikes at random leaves; a plate and its room do not.
Of simulated takes (``python -m tests.trials.rattling_takes``)."""

_CROWDED = (
    "{} tones stand nearer to each other than a plate's: something else sounded besides, such as a loose part that "
    "rattles, a door or a voice, or taps followed one another too fast. Record single taps again, in a quiet room."
)


@dataclass(frozen=True)
class Tone:
    """A tone of the plate: frequency [Hz] and Q with standard errors, level [dB] over the strongest, so at most 0.

    Two modes nearer to one another than ``parts_hz`` may be hidden in it as one.
    """

    hz: float
    sd_hz: float
    q: float
    sd_q: float
    level_db: float
    parts_hz: float


@dataclass(frozen=True)
class TapTones:
    """What the taps tell: tones from low to high, steady tones [Hz] that are the room's, number of taps, warnings.

    ``doubtful`` if something else sounded besides, so that no tone surely is the plate's.
    """

    tones: tuple[Tone, ...]
    steady_hz: tuple[float, ...]
    taps: int
    warnings: tuple[str, ...] = ()
    doubtful: bool = False


def hear_tones(recordings: Sequence[Recording]) -> TapTones:
    """Return the tones that all taps of the recordings have in common.

    Raises InputError if a recording has no tap that can be used, or no tone stands out of the noise.
    """
    found = [find_taps(recording) for recording in recordings]
    segments, left_out = _first_of([segment for taps in found for segment in taps.segments])
    first = [listen(segments, low, high) for low, high in pairwise(_EDGES)]
    joined, steady = _joined(first), [hum for band in first for hum in band.steady()]
    bands = [listen_again(band, joined, steady) for band in first]
    lossy = [recording.name for recording in recordings if recording.lossy]
    tones = tuple(_levelled([tone for tone in _joined(bands) if not lossy or tone.is_sure]))
    if not tones or _explained([band for band in bands if any(band.tones())]) < _LEAST_EXPLAINED:
        raise InputError(
            f"{', '.join(recording.name for recording in recordings)}: no tones that ring down stand out of the noise; "
            "expected the sound of a plate. Hold it at a node line, tap it near the microphone, and record again."
        )
    return TapTones(
        tones,
        tuple(sorted(hum.hz for band in bands for hum in band.steady() if hum.hz >= LOWEST_HZ)),
        sum(segment.rings for segment in segments),
        (
            *(warning for taps in found for warning in taps.warnings),
            *left_out,
            *map(_of_lossy, lossy),
            *([_CROWDED.format(len(tones))] if _is_crowd(tones) else ()),
        ),
        _is_crowd(tones),
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


def are_mostly_unsure(tones: Sequence[Tone]) -> bool:
    """Tell whether most of the tones follow no ring-down so well as the plate's own do."""
    unsure = sum(tone.sd_hz >= SURE * tone.hz / tone.q for tone in tones)
    return unsure >= _UNSURE * len(tones)


def _is_crowd(tones: Sequence[Tone]) -> bool:
    """Tell whether the tones stand so thick as those of a plate do not: noise that dies away sounds like many."""
    if len(tones) < _FEW or not are_mostly_unsure(tones):
        return False
    hz = np.array([tone.hz for tone in tones])
    usual = float(np.median(np.diff(hz)))
    closest = float((hz[_FEW - 1 :] - hz[: len(hz) - _FEW + 1]).min()) / (_FEW - 1)
    return min(usual, closest) < _THICK_HZ or (len(tones) >= _CROWD and usual < _CROWDED_HZ)


def _of_lossy(name: str) -> str:
    return (
        f"{name}: a file of this kind is stored with loss, and what is lost sounds like faint tones: only the strong ones "
        "are told. Record as WAV or FLAC."
    )


def _explained(bands: Sequence[HeardBand]) -> float:
    """Return the share of the ring-downs' energy that their tones account for."""
    whole, left = np.sum([band.energies() for band in bands], axis=0)
    return float(1 - left / whole)


def _joined(bands: Sequence[HeardBand]) -> list[Sounding]:
    """Return the tones of all bands in order; at the seam of two, where both hear a tone, the surer figures count."""
    kept: list[Sounding] = []
    for band in bands:
        older = list(kept)
        for tone in band.tones():
            twin = min(older, key=lambda old: abs(old.hz - tone.hz), default=tone)
            if twin is tone or abs(twin.hz - tone.hz) > tone.seam_hz:
                kept.append(tone)
                continue
            older.remove(twin)
            if tone.sd_hz < twin.sd_hz:
                kept[kept.index(twin)] = tone
    return sorted((tone for tone in kept if tone.hz >= LOWEST_HZ), key=lambda tone: tone.hz)


def _levelled(tones: Sequence[Sounding]) -> Iterator[Tone]:
    """Yield the tones with their level over the strongest; what is 50 dB under it says nothing."""
    levels = [float(20 * np.log10(tone.strength)) for tone in tones]
    for tone, level in zip(tones, levels, strict=True):
        if level - max(levels) > _FAINTEST_DB:
            yield Tone(tone.hz, tone.sd_hz, tone.q, tone.sd_q, level - max(levels), tone.parts_hz)
