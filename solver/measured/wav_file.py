"""WAV files walked chunk by chunk: the decoder gets the form of the sound and the sound, and nothing else of the file.

What recorders and programs write beside (titles, marks, places, pictures) is of no use here, and a decoder that takes it
apart can be made to run for ever. Layout: RIFF (IBM and Microsoft 1991); RF64 for sizes beyond 4 GB (EBU Tech 3306).
"""

import io
import os
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO

_MARKS = (b"RIFF", b"RIFX", b"RF64")
_HEAD = 12
_SHORTEST_FORM, _LONGEST_FORM = 14, 200
_MOST_CHUNKS = 2000
_ELSEWHERE = 0xFFFF_FFFF
_NEVER_CLOSED = 0xFFFF_FF00
"""From this size on, and with none, what streams states no size at all."""


def is_wav(head: bytes) -> bool:
    """Tell whether a file whose first twelve bytes these are names itself a WAV file."""
    return head[:4] in _MARKS and head[8:_HEAD] == b"WAVE"


@dataclass(frozen=True)
class _Chunk:
    """A chunk of a file: its name, where its content begins, and the size that it states."""

    name: bytes
    start: int
    size: int


class WavSound(io.RawIOBase):
    """A WAV file of two chunks, read out of one of any number; ``breaks_off`` if less sound is there than is stated."""

    def __init__(self, file: IO[bytes]) -> None:
        """Look for form and sound; raises ValueError if one of them is missing."""
        self._file, self._at = file, 0
        file.seek(0)
        mark, end = file.read(4), file.seek(0, os.SEEK_END)
        order = ">" if mark == b"RIFX" else "<"
        form, data = _form_and_data(file, order, end)
        there = max(0, end - data.start)
        unstated = (data.size >= _NEVER_CLOSED and mark != b"RF64") or (
            data.size == 0 and _is_unclosed(file, order)
        )
        self.breaks_off = not unstated and data.size > there
        self._start = data.start
        size = there if unstated else min(data.size, there)
        size = min(size, _NEVER_CLOSED - 1)
        chunks = b"WAVEfmt " + struct.pack(f"{order}I", len(form)) + form + bytes(len(form) % 2)
        chunks += b"data" + struct.pack(f"{order}I", size)
        written = b"RIFX" if order == ">" else b"RIFF"
        self._head = written + struct.pack(f"{order}I", len(chunks) + size) + chunks
        self._end = len(self._head) + size

    def readable(self) -> bool:
        """Tell that it can be read."""
        return True

    def seekable(self) -> bool:
        """Tell that one can go to any place in it."""
        return True

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        """Go to a place, and return it."""
        begin = {os.SEEK_SET: 0, os.SEEK_CUR: self._at, os.SEEK_END: self._end}[whence]
        self._at = max(0, begin + offset)
        return self._at

    def tell(self) -> int:
        """Return the place."""
        return self._at

    def readinto(self, buffer: bytearray | memoryview) -> int:  # type: ignore[override]
        """Fill a buffer with what comes next, and return how much of it."""
        if self._at < len(self._head):
            part = self._head[self._at : self._at + len(buffer)]
        else:
            self._file.seek(self._start + self._at - len(self._head))
            part = self._file.read(max(0, min(len(buffer), self._end - self._at)))
        buffer[: len(part)] = part
        self._at += len(part)
        return len(part)


def _form_and_data(file: IO[bytes], order: str, end: int) -> tuple[bytes, _Chunk]:
    form, data, far = b"", None, None
    for chunk in _chunks(file, order, end):
        if chunk.name == b"ds64":
            file.seek(chunk.start + 8)
            far = int.from_bytes(file.read(8), "little")
        elif chunk.name == b"fmt " and not form:
            if not _SHORTEST_FORM <= chunk.size <= _LONGEST_FORM:
                raise ValueError(f"a form of {chunk.size} bytes")
            file.seek(chunk.start)
            form = file.read(chunk.size)
        elif chunk.name == b"data" and data is None:
            data = chunk if far is None or chunk.size != _ELSEWHERE else _Chunk(b"data", chunk.start, far)
        if form and data is not None:
            return form, data
    raise ValueError("no form or no sound")


def _chunks(file: IO[bytes], order: str, end: int) -> Iterator[_Chunk]:
    """Yield the chunks in their order, as long as they look like some."""
    at = _HEAD
    for _ in range(_MOST_CHUNKS):
        file.seek(at)
        head = file.read(8)
        if len(head) < 8 or not _is_name(head[:4]):
            return
        size = int(struct.unpack(f"{order}I", head[4:])[0])
        yield _Chunk(head[:4], at + 8, size)
        at += 8 + size
        if size % 2 and not _is_unpadded(file, at):
            at += 1
        if at >= end:
            return
    raise ValueError("too many chunks")


def _is_name(name: bytes) -> bool:
    return all(0x20 <= sign < 0x7F for sign in name)


def _is_unpadded(file: IO[bytes], at: int) -> bool:
    """Tell whether the next chunk begins right after an odd one, as programs write it that do not know better."""
    file.seek(at)
    names = file.read(5)
    return len(names) == 5 and _is_name(names[:4]) and not _is_name(names[1:])


def _is_unclosed(file: IO[bytes], order: str) -> bool:
    """Tell whether the recorder ended before it wrote how much there is: then the whole has no size either."""
    file.seek(4)
    stated = int(struct.unpack(f"{order}I", file.read(4))[0])
    return stated <= _HEAD - 4 or stated >= _NEVER_CLOSED
