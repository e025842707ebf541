"""Sound as telephones store it, M4A with AAC or lossless ALAC, read block by block. The only door to PyAV."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain
from typing import IO, TYPE_CHECKING

import numpy as np

from solver.core.arrays import Floats

if TYPE_CHECKING:
    from av.audio.frame import AudioFrame
    from av.audio.stream import AudioStream

LOSSLESS = "ALAC"

_KIND = "mov"
"""What the library calls such files; named, so that no file that points to others is followed."""


def is_m4a(head: bytes) -> bool:
    """Tell whether a file whose first bytes these are names itself MPEG-4 (ISO/IEC 14496-12, file type box)."""
    return head[4:8] == b"ftyp"


@dataclass(eq=False)
class TelephoneSound:
    """The first track of sound in an M4A file, with what is asked of a soundfile.

    ``samplerate`` [Hz] and ``channels`` are those of what is decoded; ``frames`` are not known before the end.
    """

    samplerate: int
    channels: int
    subtype: str
    _parts: Iterator[Floats]
    _held: Floats
    format: str = "M4A"
    frames: int = 0

    def read(self, frames: int, dtype: str = "float64", always_2d: bool = True) -> Floats:  # noqa: ARG002, soundfile's
        """Return the next ``frames`` samples (n, channels), fewer at the end.

        Raises
        ------
        ValueError
            If the sound has another number of channels from there on.
        """
        parts, missing = [self._held], frames - len(self._held)
        while missing > 0 and (part := next(self._parts, None)) is not None:
            parts.append(part)
            missing -= len(part)
        joined = np.concatenate(parts)
        self._held = joined[frames:]
        return joined[:frames]

    def tell(self) -> int:
        """Return nought: how much was read cannot be held against an end that is not known."""
        return 0


@contextmanager
def telephone_sound(handle: IO[bytes]) -> Iterator[TelephoneSound]:
    """Open the sound in an M4A file.

    Raises
    ------
    ValueError
        If there is no sound in it that can be decoded, now or while it is read.
    """
    import av

    try:
        with av.open(handle, "r", format=_KIND) as file:
            known = [stream for stream in file.streams.audio if stream.codec_context is not None]
            if not known:
                raise ValueError("no sound that can be decoded")
            yield _begun(known[0], file.decode(known[0]))
    except av.error.FFmpegError as fault:
        raise ValueError(str(fault)) from None


def _begun(stream: "AudioStream", frames: "Iterator[AudioFrame]") -> TelephoneSound:
    """Decode the first frame, which alone tells rate and channels for sure."""
    codec = LOSSLESS if stream.codec_context.name == "alac" else "AAC"
    first = next(frames, None)
    if first is None:
        return TelephoneSound(stream.codec_context.sample_rate, 1, codec, iter(()), np.zeros((0, 1)))
    rate, channels = first.sample_rate, first.layout.nb_channels
    return TelephoneSound(rate, channels, codec, _decoded(first, frames, rate), np.zeros((0, channels)))


def _decoded(first: "AudioFrame", frames: "Iterator[AudioFrame]", rate: int) -> Iterator[Floats]:
    """Yield samples (n, channels) at ``rate`` [Hz]."""
    import av

    as_floats = av.AudioResampler(format="fltp", rate=rate)
    for frame in chain([first], frames):
        for part in as_floats.resample(frame):
            yield np.asarray(part.to_ndarray().T, np.float64)
