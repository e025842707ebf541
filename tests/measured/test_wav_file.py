"""WAV files as recorders, programs and accidents lay them out: the sound in them, and nothing else taken apart."""

import io
import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile

from solver.core.errors import InputError
from solver.measured.recording import read_recording
from solver.measured.wav_file import WavSound
from tests.hostile_files import looping_wav

RATE = 8000
SOUND = np.round(12000 * np.sin(0.3 * np.arange(999))).astype("<i2")
FORM = struct.pack("<HHIIHH", 1, 1, RATE, 2 * RATE, 2, 16)
DATA = SOUND.tobytes()
INFO = b"INFO" + b"ISFT" + struct.pack("<I", 5) + b"odd!\0"


def chunk(name: bytes, body: bytes, order: str = "<", stated: int | None = None, pad: bool = True) -> bytes:
    size = len(body) if stated is None else stated
    return name + struct.pack(f"{order}I", size) + body + bytes(len(body) % 2 if pad else 0)


def riff(*chunks: bytes, mark: bytes = b"RIFF", order: str = "<", stated: int | None = None) -> bytes:
    body = b"WAVE" + b"".join(chunks)
    return mark + struct.pack(f"{order}I", len(body) if stated is None else stated) + body


def big_endian() -> bytes:
    form = struct.pack(">HHIIHH", 1, 1, RATE, 2 * RATE, 2, 16)
    data = SOUND.astype(">i2").tobytes()
    return riff(chunk(b"fmt ", form, ">"), chunk(b"data", data, ">"), mark=b"RIFX", order=">")


def beyond_four_gigabytes() -> bytes:
    sizes = struct.pack("<QQQI", 0, len(DATA), len(SOUND), 0)
    parts = (
        chunk(b"ds64", sizes),
        chunk(b"fmt ", FORM),
        chunk(b"data", DATA, stated=0xFFFFFFFF),
        chunk(b"LIST", INFO),
    )
    return riff(*parts, mark=b"RF64", stated=0xFFFFFFFF)


WHOLE: dict[str, bytes] = {
    "plain": riff(chunk(b"fmt ", FORM), chunk(b"data", DATA)),
    "titles before and after": riff(
        chunk(b"LIST", INFO),
        chunk(b"fmt ", FORM),
        chunk(b"LIST", INFO),
        chunk(b"data", DATA),
        chunk(b"id3 ", b"x" * 77),
    ),
    "odd chunks padded": riff(
        chunk(b"note", b"odd"), chunk(b"fmt ", FORM), chunk(b"junk", b"1"), chunk(b"data", DATA)
    ),
    "odd chunks not padded": riff(
        chunk(b"note", b"odd", pad=False),
        chunk(b"fmt ", FORM),
        chunk(b"junk", b"1", pad=False),
        chunk(b"data", DATA),
    ),
    "form after the sound": riff(chunk(b"data", DATA), chunk(b"fmt ", FORM)),
    "longer form": riff(
        chunk(b"fmt ", FORM + bytes(2)), chunk(b"fact", struct.pack("<I", 999)), chunk(b"data", DATA)
    ),
    "recorder that never closed it": riff(chunk(b"fmt ", FORM), chunk(b"data", DATA, stated=0), stated=0),
    "stream": riff(chunk(b"fmt ", FORM), chunk(b"data", DATA, stated=0xFFFFFFFF), stated=0xFFFFFFFF),
    "dust behind": riff(chunk(b"fmt ", FORM), chunk(b"data", DATA)) + b"\0\1dust",
    "big-endian": big_endian(),
    "RF64": beyond_four_gigabytes(),
    "titles that lead back to themselves": riff(
        chunk(b"LIST", b"INFOXXXX" + struct.pack("<i", -8) + b"YYYY\x08\0\0\0"),
        chunk(b"fmt ", FORM),
        chunk(b"data", DATA),
    ),
}


@pytest.mark.parametrize("case", WHOLE)
def test_the_sound_is_what_is_in_the_file(case: str) -> None:
    sound = WavSound(io.BytesIO(WHOLE[case]))
    heard, rate = soundfile.read(sound, dtype="int16")
    assert rate == RATE
    assert np.array_equal(heard, SOUND)
    assert not sound.breaks_off


PLAIN = ("PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE", "ULAW")


@pytest.mark.parametrize(
    ("kind", "subtype"),
    [*[(kind, sub) for kind in ("WAV", "WAVEX", "RF64") for sub in PLAIN], ("WAV", "IMA_ADPCM")],
)
def test_every_depth_is_read_as_the_library_alone_reads_it(kind: str, subtype: str) -> None:
    file = io.BytesIO()
    soundfile.write(file, SOUND.reshape(-1, 1).repeat(2, axis=1) / 32768, 44100, format=kind, subtype=subtype)
    alone = soundfile.read(io.BytesIO(file.getvalue()))[0]
    assert np.array_equal(soundfile.read(WavSound(io.BytesIO(file.getvalue())))[0], alone)


def test_what_the_decoder_gets_holds_form_and_sound_alone() -> None:
    sound = WavSound(io.BytesIO(WHOLE["titles before and after"]))
    assert sound.read() == WHOLE["plain"]
    assert sound.seek(0, 2) == len(WHOLE["plain"])
    assert sound.seek(-4, 1) == len(WHOLE["plain"]) - 4
    assert sound.read() == DATA[-4:]


def test_sound_that_is_cut_short_is_read_and_said() -> None:
    sound = WavSound(io.BytesIO(WHOLE["plain"][:-500]))
    assert sound.breaks_off
    assert np.array_equal(soundfile.read(sound, dtype="int16")[0], SOUND[:-250])


@pytest.mark.parametrize(
    "content",
    [
        riff(chunk(b"fmt ", FORM)),
        riff(chunk(b"data", DATA)),
        riff(chunk(b"fmt ", FORM[:8]), chunk(b"data", DATA)),
        riff(chunk(b"fmt ", FORM * 40), chunk(b"data", DATA)),
        riff(chunk(b"junk", b"", stated=0xFFFFFFF8), chunk(b"fmt ", FORM), chunk(b"data", DATA)),
        riff(*[chunk(b"junk", b"")] * 5000, chunk(b"fmt ", FORM), chunk(b"data", DATA)),
        riff(b"\0" * 5000),
        riff(),
    ],
)
def test_without_form_or_sound_there_is_no_recording(content: bytes, tmp_path: Path) -> None:
    (tmp_path / "a.wav").write_bytes(content)
    with pytest.raises(InputError, match="cannot be read as a recording, or is damaged"):
        read_recording(tmp_path / "a.wav")


def test_77_bytes_that_kept_the_decoder_for_ever(tmp_path: Path) -> None:
    (tmp_path / "a.wav").write_bytes(looping_wav())
    assert len(looping_wav()) == 77
    assert len(read_recording(tmp_path / "a.wav").samples) < 10
