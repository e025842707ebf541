"""A recording as the tones are read from it: one channel at one rate. The only door to soundfile.

A plate sounds below 1.5 kHz, so 4000 samples a second hold all of it. The file is read in blocks of whole seconds and
brought to that rate as it comes: memory does not grow with the rate or the number of channels, whatever a file claims
to hold.
"""

import math
import stat
from collections.abc import Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TYPE_CHECKING

import numpy as np

from solver.core.arrays import Bools, Floats, Ints, freeze
from solver.core.errors import InputError
from solver.measured.telephone_sound import LOSSLESS, is_m4a, telephone_sound
from solver.measured.wav_file import WavSound, is_wav

if TYPE_CHECKING:
    from soundfile import SoundFile

    from solver.measured.telephone_sound import TelephoneSound

RATE_HZ = 4000
"""Rate [Hz] at which every recording is read."""

LONGEST_S = 600.0
"""What is longer than ten minutes is no row of taps."""

TAKEN = "WAV, FLAC, M4A, OGG or MP3"

_KINDS = {"WAV", "WAVEX", "RF64", "FLAC", "OGG", "MP3", "M4A"}
_FRAMED = (b"fLaC", b"OggS", b"ID3")
"""How FLAC, OGG and MP3 with a title begin; without one, MP3 begins with eleven set bits."""

_OTHERS = {b"FORM": "AIFF", b"riff": "W64", b"caff": "CAF", b".snd": "AU"}
_LOSSY = {"OGG", "MP3", "M4A"}
"""Kinds stored with loss, as a rule; how long they are shows at the end only."""

_BLOCK_S, _OVERLAP_S = 2, 1
_SLOWEST_HZ, _FASTEST_HZ = 4000, 768_000
_FULL_SCALE = 0.999
_FLAT_S = 0.00025


@dataclass(frozen=True, eq=False)
class Recording:
    """What was recorded: ``samples`` (n,) at `RATE_HZ`, full scale 1, ``clipped`` (n,) where a peak was cut off.

    ``warnings`` say what is odd about the file; ``lossy`` whether the way it is stored adds a noise that rings down too.
    """

    name: str
    samples: Floats
    clipped: Bools
    warnings: tuple[str, ...] = ()
    lossy: bool = False

    def __post_init__(self) -> None:
        freeze(self, samples=((None,), float), clipped=((len(self.samples),), bool))

    @property
    def seconds(self) -> float:
        """How long it is [s]."""
        return len(self.samples) / RATE_HZ


def read_recording(path: Path) -> Recording:
    """Return a recording (WAV, FLAC, M4A, OGG or MP3; any rate from 4 kHz, 8 to 32 bit or float, one or two channels).

    Of two channels the louder is taken: adding them would cancel where they are out of step.

    Raises
    ------
    InputError
        If there is no such file, it is no recording of these kinds, it is empty, or longer than ten minutes.
    """
    import soundfile

    _check_there(path)
    try:
        with path.open("rb") as handle:
            content = _content(path, handle)
            with _opened(content) as file:
                _check_kind(path, file)
                blocks = list(_slowed(file, path.name))
                cut_short = _breaks_off(content, file)
                lossy = file.format in _LOSSY and file.subtype != LOSSLESS
    except (soundfile.SoundFileError, RuntimeError, ValueError, TypeError):
        raise InputError(
            f"{path}: it cannot be read as a recording, or is damaged; expected {TAKEN}. "
            "Record again, or save it in one of these from the program that opens it."
        ) from None
    samples = np.concatenate([block for block, _ in blocks]) if blocks else np.zeros((0, 1))
    if not len(samples):
        raise InputError(f"{path}: there is no sound in it; expected a recording of taps. Record again.")
    clipped = np.concatenate([cut for _, cut in blocks])
    loud = int(np.ptp(samples, axis=0).argmax())
    warnings = (f"{path.name} breaks off before its stated end: the rest was used.",) if cut_short else ()
    return Recording(path.name, samples[:, loud] - samples[:, loud].mean(), clipped[:, loud], warnings, lossy)


def _content(path: Path, handle: IO[bytes]) -> IO[bytes] | WavSound:
    """Return what a decoder gets of a file, by what it begins with: no decoder is given what is not its own."""
    head = handle.read(12)
    handle.seek(0)
    if is_wav(head):
        return WavSound(handle)
    if head[:4] in _OTHERS:
        raise InputError(
            f"{path}: it is a file of kind {_OTHERS[head[:4]]}; expected {TAKEN}. Save it as WAV."
        )
    if head.startswith(_FRAMED) or is_m4a(head) or (head[:1] == b"\xff" and head[1:2] >= b"\xe0"):
        return handle
    raise ValueError("no kind of recording")


def _opened(content: IO[bytes] | WavSound) -> "AbstractContextManager[SoundFile | TelephoneSound]":
    import soundfile

    head = content.read(12)
    content.seek(0)
    if is_m4a(head) and not isinstance(content, WavSound):
        return telephone_sound(content)
    file: AbstractContextManager[SoundFile | TelephoneSound] = soundfile.SoundFile(content)
    return file


def _check_there(path: Path) -> None:
    if path.is_dir():
        raise InputError(f"{path}: it is a folder; expected a recording ({TAKEN}). Name the file.")
    try:
        entry = path.stat()
    except (OSError, ValueError):
        raise InputError(
            f"{path}: there is no such file; expected a recording ({TAKEN}). Check the name."
        ) from None
    if not stat.S_ISREG(entry.st_mode):
        raise InputError(
            f"{path}: it is a device or a pipe; expected a recording ({TAKEN}). Save what it gives to a file first."
        )
    if entry.st_size == 0:
        raise InputError(f"{path}: the file is empty; expected a recording of taps. Record again.")


def _check_kind(path: Path, file: "SoundFile | TelephoneSound") -> None:
    """Refuse what is no recording of taps by its own statement, before any of its sound is read."""
    if file.format not in _KINDS:
        raise InputError(f"{path}: it is a file of kind {file.format}; expected {TAKEN}. Save it as WAV.")
    if not 1 <= file.channels <= 2:
        raise InputError(
            f"{path}: it has {file.channels} channels; expected one or two. Save it as mono from the program "
            "that opens it."
        )
    if not _SLOWEST_HZ <= file.samplerate <= _FASTEST_HZ:
        raise InputError(
            f"{path}: its rate is {file.samplerate} Hz; expected {_SLOWEST_HZ} to {_FASTEST_HZ}. Record at 44100 Hz."
        )
    if file.frames > LONGEST_S * file.samplerate and file.format not in _LOSSY:
        raise InputError(_too_long(path.name, file.frames / file.samplerate))


def _too_long(name: str, seconds: float) -> str:
    return (
        f"{name}: it is {seconds / 60:.0f} minutes long; expected at most {LONGEST_S / 60:.0f}. "
        "Cut out the part with the taps."
    )


def _slowed(file: "SoundFile | TelephoneSound", name: str) -> Iterator[tuple[Floats, Bools]]:
    """Yield the samples (n, channels) at `RATE_HZ` and where they were cut off, in blocks of whole seconds.

    A second has a whole number of samples at either rate, so that blocks join without a seam: each is filtered together
    with a second on either side.
    """
    from scipy.signal import resample_poly

    rate = file.samplerate
    lowpass = _lowpass(rate)
    before = np.zeros((_OVERLAP_S * rate, file.channels))
    here, done = _read(file, _BLOCK_S), 0
    while len(here):
        after = _read(file, _BLOCK_S)
        row = np.concatenate([before, here, after[: _OVERLAP_S * rate]])
        keep = slice(_OVERLAP_S * RATE_HZ, _OVERLAP_S * RATE_HZ + len(here) * RATE_HZ // rate)
        slow = np.asarray(resample_poly(row, RATE_HZ, rate, window=lowpass))[keep]  # type: ignore[call-overload]
        yield slow, _cut_off(here, file)
        before, here, done = here[-_OVERLAP_S * rate :], after, done + _BLOCK_S
        if done > LONGEST_S:
            raise InputError(_too_long(name, done))


def _lowpass(rate: int) -> Floats:
    """Return the filter that `resample_poly` would design for each block anew, for seconds where a rate is odd."""
    from scipy.signal import firwin

    most = max(RATE_HZ, rate) // math.gcd(RATE_HZ, rate)
    return np.asarray(firwin(20 * most + 1, 1 / most, window=("kaiser", 5.0)) if most > 1 else np.ones(1))


def _read(file: "SoundFile | TelephoneSound", seconds: int) -> Floats:
    """Return the next samples (n, channels); what is no number or beyond all measure counts as silence."""
    samples = file.read(seconds * file.samplerate, dtype="float64", always_2d=True)
    return np.where(np.abs(samples) < 1e6, samples, 0.0)


def _cut_off(samples: Floats, file: "SoundFile | TelephoneSound") -> Bools:
    """Tell for each sample at `RATE_HZ` (n, channels) whether the peak was cut off there.

    Three samples in a row at full scale are; so is a flat top of a quarter of a millisecond at the highest value of a
    block, as a recording has that was made softer afterwards (not with 8 bit, whose steps are as flat).
    """
    level = np.abs(samples)
    top = level.max(axis=0)
    cut = _runs(level >= (127 / 128 if "8" in file.subtype else _FULL_SCALE), 3)
    if "8" not in file.subtype:
        flat = (level >= top * (1 - 1e-6)) & (top > 0.05)
        cut |= _runs(flat, max(4, int(_FLAT_S * file.samplerate)))
    slowed = np.zeros((len(samples) * RATE_HZ // file.samplerate, samples.shape[1]), dtype=bool)
    when, channel = np.nonzero(cut)
    slowed[np.minimum(when * RATE_HZ // file.samplerate, len(slowed) - 1), channel] = len(slowed) > 0
    return slowed


def _runs(marked: Bools, least: int) -> Bools:
    """Return where at least ``least`` marks follow one another (n, channels)."""
    if np.count_nonzero(marked) < least:
        return np.zeros_like(marked)
    whole = _sums(marked, least) == least
    return _sums(np.pad(whole, ((least - 1, least - 1), (0, 0))), least) > 0


def _sums(marked: Bools, count: int) -> Ints:
    """Return how many of each ``count`` neighbours are marked (n - count + 1, channels)."""
    sums = np.cumsum(np.pad(marked, ((1, 0), (0, 0))), axis=0)
    return np.asarray(sums[count:] - sums[:-count])


def _breaks_off(content: IO[bytes] | WavSound, file: "SoundFile | TelephoneSound") -> bool:
    """Tell whether the file holds less sound than it says."""
    if isinstance(content, WavSound):
        return content.breaks_off
    return file.format not in _LOSSY and bool(0 < file.tell() < file.frames)
