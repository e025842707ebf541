"""Recordings of every kind, whole and broken."""

import io
import struct
import subprocess
import sys
import wave
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
import soundfile

from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.measured.recording import RATE_HZ, read_recording
from tests.measured.telephone_files import write_m4a

TONE_HZ = 440.0


def tone(rate: int, seconds: float = 1.0, size: float = 0.5) -> Floats:
    return np.asarray(size * np.sin(2 * np.pi * TONE_HZ * np.arange(int(rate * seconds)) / rate))


def check_tone(path: Path, within: float) -> None:
    """Assert that a file holds the tone at half of full scale: at 4000 Hz it is known sample by sample."""
    heard = read_recording(path).samples
    wanted = tone(RATE_HZ, len(heard) / RATE_HZ)
    middle = slice(len(heard) // 4, -len(heard) // 4)
    assert np.abs(heard - wanted)[middle].max() < within


@pytest.mark.parametrize("rate", [4000, 8000, 11025, 22050, 44100, 48000, 96000, 192000, 12347])
def test_any_rate_comes_out_at_one(tmp_path: Path, rate: int) -> None:
    soundfile.write(tmp_path / "a.wav", tone(rate), rate, subtype="FLOAT")
    check_tone(tmp_path / "a.wav", 2e-3)


@pytest.mark.parametrize(
    ("name", "subtype", "within"),
    [
        ("a.wav", "PCM_U8", 1e-2),
        ("a.wav", "PCM_16", 2e-3),
        ("a.wav", "PCM_24", 2e-3),
        ("a.wav", "PCM_32", 2e-3),
        ("a.wav", "DOUBLE", 2e-3),
        ("a.flac", "PCM_16", 2e-3),
        ("a.flac", "PCM_24", 2e-3),
        ("a.ogg", "VORBIS", 3e-2),
        ("a.ogg", "OPUS", 5e-2),
        ("a.mp3", "MPEG_LAYER_III", 3e-2),
    ],
)
def test_any_depth_and_kind(tmp_path: Path, name: str, subtype: str, within: float) -> None:
    soundfile.write(tmp_path / name, tone(48000), 48000, subtype=subtype)
    check_tone(tmp_path / name, within)


def test_a_file_written_by_another_library(tmp_path: Path) -> None:
    with wave.open(str(tmp_path / "a.wav"), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(32000)
        file.writeframes((tone(32000) * 32767).astype("<i2").tobytes())
    check_tone(tmp_path / "a.wav", 2e-3)


@pytest.mark.parametrize(("codec", "lossy", "within"), [("aac", True, 3e-2), ("alac", False, 2e-3)])
@pytest.mark.parametrize("rate", [16000, 44100, 48000])
def test_what_a_telephone_records(tmp_path: Path, rate: int, codec: str, lossy: bool, within: float) -> None:
    write_m4a(tmp_path / "a.m4a", tone(rate, 5.3), rate, codec)
    heard = read_recording(tmp_path / "a.m4a")
    assert heard.seconds == pytest.approx(5.3, abs=0.1)
    assert heard.lossy == lossy
    middle = heard.samples[RATE_HZ:-RATE_HZ]
    time = np.arange(len(middle)) / RATE_HZ
    waves = np.stack([np.sin(2 * np.pi * TONE_HZ * time), np.cos(2 * np.pi * TONE_HZ * time)])
    parts = 2 * waves @ middle / len(middle)
    assert np.hypot(*parts) == pytest.approx(0.5, rel=0.02)
    assert np.abs(middle - parts @ waves).max() < within  # and no seam between blocks


def test_m4a_that_breaks_off_or_holds_no_sound_is_refused(tmp_path: Path) -> None:
    write_m4a(tmp_path / "whole.m4a", tone(44100, 3), 44100)
    whole = (tmp_path / "whole.m4a").read_bytes()
    for content in (whole[:-3000], whole[:20], whole[:8] + bytes(5000)):
        (tmp_path / "a.m4a").write_bytes(content)
        with pytest.raises(
            InputError, match=r"a\.m4a: it cannot be read as a recording, or is damaged; expected WAV"
        ):
            read_recording(tmp_path / "a.m4a")


def test_m4a_with_wild_bytes_is_read_or_refused(tmp_path: Path) -> None:
    write_m4a(tmp_path / "whole.m4a", tone(16000, 2), 16000)
    whole, random = (tmp_path / "whole.m4a").read_bytes(), np.random.default_rng(8)
    for _ in range(40):
        wild = bytearray(whole)
        for place in random.integers(8, len(whole), 12):
            wild[place] = random.integers(256)
        (tmp_path / "a.m4a").write_bytes(wild)
        with suppress(InputError):
            assert np.isfinite(read_recording(tmp_path / "a.m4a").samples).all()


def test_of_two_channels_the_louder_is_taken(tmp_path: Path) -> None:
    both = np.stack([-0.1 * tone(44100), tone(44100)], axis=1)
    soundfile.write(tmp_path / "a.wav", both, 44100)
    check_tone(tmp_path / "a.wav", 2e-3)


def test_blocks_join_without_a_seam(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", tone(11025, 13.3), 11025, subtype="FLOAT")
    heard = read_recording(tmp_path / "a.wav").samples
    assert len(heard) == pytest.approx(13.3 * RATE_HZ, abs=1)
    assert np.abs(heard - tone(RATE_HZ, 14)[: len(heard)])[100:-100].max() < 2e-3


@pytest.mark.parametrize(
    ("subtype", "name"), [("PCM_U8", "a.wav"), ("PCM_16", "a.wav"), ("FLOAT", "a.wav"), ("VORBIS", "a.ogg")]
)
def test_cut_off_peaks_are_marked_where_they_are(tmp_path: Path, subtype: str, name: str) -> None:
    sound = tone(44100)
    sound[20000:20500] *= 4
    soundfile.write(tmp_path / name, np.clip(sound, -1, 1), 44100, subtype=subtype)
    cut = np.flatnonzero(read_recording(tmp_path / name).clipped) / RATE_HZ
    assert len(cut)
    assert cut.min() > 20000 / 44100 - 0.001
    assert cut.max() < 20500 / 44100 + 0.001


def test_flat_tops_that_were_made_softer_afterwards_are_marked(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", 0.3 * np.clip(tone(44100, size=3), -1, 1), 44100)
    assert read_recording(tmp_path / "a.wav").clipped.any()


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "FLOAT"])
def test_a_loud_tone_that_is_whole_is_not_called_clipped(tmp_path: Path, subtype: str) -> None:
    soundfile.write(tmp_path / "a.wav", tone(44100, size=0.97), 44100, subtype=subtype)
    assert not read_recording(tmp_path / "a.wav").clipped.any()


def riff(
    rate: int = 44100, channels: int = 1, bits: int = 16, body: bytes = b"", stated: int | None = None
) -> bytes:
    """A WAV file laid out by hand."""
    step = channels * bits // 8
    form = struct.pack("<HHIIHH", 1, channels, rate, (rate * step) & 0xFFFFFFFF, step & 0xFFFF, bits)
    size = len(body) if stated is None else stated
    inside = b"WAVEfmt " + struct.pack("<I", 16) + form + b"data" + struct.pack("<I", size) + body
    return b"RIFF" + struct.pack("<I", (len(inside) + size - len(body)) & 0xFFFFFFFF) + inside


def written(kind: str, count: int) -> bytes:
    """Silence of so many samples in a file of a kind."""
    buffer = io.BytesIO()
    soundfile.write(buffer, np.zeros(count), 44100, format=kind)
    return buffer.getvalue()


def flac(seconds: float) -> bytes:
    buffer = io.BytesIO()
    soundfile.write(
        buffer, np.random.default_rng(1).normal(size=int(44100 * seconds)) * 0.1, 44100, format="FLAC"
    )
    return buffer.getvalue()


REFUSED: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "the file is empty"),
    "random bytes": (np.random.default_rng(0).bytes(50_000), "cannot be read as a recording"),
    "a photo": (b"\xff\xd8\xff\xe0\x00\x10JFIF" + bytes(2000), "cannot be read as a recording"),
    "text": (b"x_mm,y_mm\n1,2\n" * 50, "cannot be read as a recording"),
    "noise that begins as FLAC": (
        b"fLaC" + np.random.default_rng(0).bytes(50_000),
        "cannot be read as a recording",
    ),
    "noise that begins as OGG": (
        b"OggS" + np.random.default_rng(0).bytes(50_000),
        "cannot be read as a recording",
    ),
    "OGG without sound": (written("OGG", 0), "there is no sound in it"),
    "AIFF": (written("AIFF", 800), "it is a file of kind AIFF; expected WAV, FLAC, M4A, OGG or MP3"),
    "head alone": (riff()[:20], "cannot be read as a recording"),
    "no sound": (riff(), "there is no sound in it"),
    "no channels": (riff(channels=0, body=bytes(100)), "cannot be read|channels"),
    "eight channels": (riff(channels=8, body=bytes(1600)), "it has 8 channels; expected one or two"),
    "slow": (riff(rate=1000, body=bytes(4000)), "its rate is 1000 Hz"),
    "no rate": (riff(rate=0, body=bytes(4000)), "cannot be read|its rate is 0"),
    "boundless rate": (riff(rate=2**31 - 1, body=bytes(4000)), "cannot be read|its rate is"),
    "hours of one sample a second": (
        riff(rate=8000, body=bytes(8000 * 2 * 601)),
        r"minutes long; expected at most 10",
    ),
    "flac that breaks off": (flac(3)[:100_000], "or is damaged"),
    "flac cut to its head": (flac(1)[:60], "cannot be read as a recording|no sound"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_no_recording_is_refused_in_one_sentence(case: str, tmp_path: Path) -> None:
    content, said = REFUSED[case]
    path = tmp_path / "a.wav"
    path.write_bytes(content)
    with pytest.raises(InputError, match=said) as refusal:
        read_recording(path)
    assert "\n" not in str(refusal.value)
    assert str(refusal.value).startswith(("a.wav: ", f"{path}: "))


def test_what_is_not_there_or_a_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="there is no such file"):
        read_recording(tmp_path / "a.wav")
    with pytest.raises(InputError, match="it is a folder"):
        read_recording(tmp_path)


def test_a_file_of_gigabytes_is_refused_by_its_head_alone(tmp_path: Path) -> None:
    gigabytes = 3_900_000_000
    with (tmp_path / "a.wav").open("wb") as file:
        file.write(riff(stated=gigabytes))
        file.truncate(gigabytes)  # takes no room on the disk
    with pytest.raises(InputError, match=r"a\.wav: it is 737 minutes long"):
        read_recording(tmp_path / "a.wav")


@pytest.mark.slow
def test_an_ogg_of_hours_is_refused_once_it_proves_so_long(tmp_path: Path) -> None:
    """Its head does not tell how long it is."""
    with soundfile.SoundFile(tmp_path / "a.ogg", "w", 8000, 1, "VORBIS", format="OGG") as file:
        for _ in range(61):
            file.write(np.zeros(80_000))
    with pytest.raises(InputError, match=r"a\.ogg: it is 10 minutes long; expected at most 10"):
        read_recording(tmp_path / "a.ogg")


def test_a_recording_that_breaks_off_is_used_and_it_is_said(tmp_path: Path) -> None:
    whole = riff(body=(tone(44100) * 32767).astype("<i2").tobytes())
    (tmp_path / "a.wav").write_bytes(whole[: len(whole) // 2])
    heard = read_recording(tmp_path / "a.wav")
    assert heard.seconds == pytest.approx(0.5, abs=0.01)
    assert "breaks off" in heard.warnings[0]


def test_what_is_no_number_counts_as_silence(tmp_path: Path) -> None:
    sound = tone(44100)
    sound[100], sound[200], sound[300] = np.nan, np.inf, 1e30
    soundfile.write(tmp_path / "a.wav", sound, 44100, subtype="FLOAT")
    assert np.isfinite(read_recording(tmp_path / "a.wav").samples).all()


@pytest.mark.slow
@pytest.mark.skipif(
    not Path("/proc/self/status").exists(), reason="this system tells no peak of memory there"
)
def test_memory_stays_bounded_whatever_a_file_holds(tmp_path: Path) -> None:
    """Silence packs into next to nothing as FLAC, and unpacks to megabytes a second at the highest rate it has."""
    rate = 655350
    with soundfile.SoundFile(tmp_path / "bomb.flac", "w", rate, 2, "PCM_16", format="FLAC") as file:
        for _ in range(6):
            file.write(np.zeros((rate, 2), dtype=np.int16))
    code = (
        "import sys; from pathlib import Path; from solver.measured.recording import read_recording\n"
        "heard = read_recording(Path(sys.argv[1])); print(heard.seconds)\n"
        "print(*(line.split()[1] for line in open('/proc/self/status') if line.startswith('VmHWM')))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, tmp_path / "bomb.flac"], capture_output=True, text=True, check=True
    )
    seconds, kilobytes = done.stdout.split()
    assert float(seconds) == 6
    assert int(kilobytes) < 400_000
