"""Good files, and the same spoilt at random, as they are read: ``python -m tests.trials.hostile_files``.

Of every kind that is read in a bounded process some good files are made, no two alike. Each is read as it is, then again
and again with a part cut off, bits turned over, bytes made random, stretches exchanged, doubled or left out. A good file
must be read; a spoilt one must be read or refused in one sentence; and none may take longer than the bounds.
"""

import argparse
import io
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from ezdxf.filemanagement import new
from PIL import Image

from meshes.edge_files import read_edge
from solver.core.errors import InputError
from solver.measured.read_apart import photo_apart, recordings_apart
from tests.measured.telephone_files import write_m4a

MOST_S = 25.0
"""By the clock, on a computer that is not otherwise busy."""


@dataclass(frozen=True)
class Kind:
    """A kind of file: its ending, how a good one is made, and how it is read."""

    ending: str
    made: Callable[[np.random.Generator], bytes]
    read: Callable[[Path], object]


@dataclass
class Tally:
    """What came of the files of a kind; ``longest`` in seconds by the clock."""

    good: int = 0
    good_refused: int = 0
    spoilt: int = 0
    spoilt_refused: int = 0
    faults: int = 0
    longest: float = 0.0


def _sound(rng: np.random.Generator) -> np.ndarray:
    time_s = np.arange(int(rng.uniform(0.3, 2.0) * 44100)) / 44100
    ring = np.exp(-rng.uniform(5, 20) * time_s) * np.sin(2 * np.pi * rng.uniform(80, 400) * time_s)
    return 0.5 * ring + 0.01 * rng.normal(size=len(time_s))


def _written(kind: str, *subtypes: str) -> Callable[[np.random.Generator], bytes]:
    def made(rng: np.random.Generator) -> bytes:
        out = io.BytesIO()
        soundfile.write(out, _sound(rng), 44100, format=kind, subtype=str(rng.choice(subtypes)))
        return out.getvalue()

    return made


def _telephone(rng: np.random.Generator) -> bytes:
    with tempfile.TemporaryDirectory() as place:
        write_m4a(Path(place) / "a.m4a", _sound(rng), 44100, str(rng.choice(["aac", "alac"])))
        return (Path(place) / "a.m4a").read_bytes()


def _picture(kind: str, **more: bool) -> Callable[[np.random.Generator], bytes]:
    def made(rng: np.random.Generator) -> bytes:
        coarse = rng.integers(0, 255, (int(rng.integers(20, 60)), 40, 3), dtype=np.uint8)
        out = io.BytesIO()
        Image.fromarray(coarse).resize((480, int(rng.integers(260, 700)))).save(out, kind, **more)
        return out.getvalue()

    return made


def _svg(rng: np.random.Generator) -> bytes:
    radius, wave = rng.uniform(60, 120), rng.uniform(0, 0.2)
    turn = np.linspace(0, 2 * np.pi, int(rng.integers(20, 200)), endpoint=False)
    points = " ".join(
        f"{180 + r * np.cos(t):.3f},{r * np.sin(t):.3f}"
        for t, r in zip(turn, radius * (1 + wave * np.cos(3 * turn)), strict=True)
    )
    title, eye = "x" * int(rng.integers(0, 200)), rng.uniform(2, 9)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 -150 400 300">'
        f'<title>{title}</title><style>.a{{fill:none}}</style><g transform="rotate({rng.uniform(0, 90):.2f})">'
        f'<polygon id="outline" class="a" points="{points}"/></g><circle id="eye" cx="150" r="{eye:.2f}"/></svg>'
    ).encode()


def _dxf(rng: np.random.Generator) -> bytes:
    drawing = new(str(rng.choice(["R2000", "R2007", "R2010"])), units=4)
    space, radius = drawing.modelspace(), rng.uniform(60, 150)
    space.add_line((-radius, 0), (radius, 0), {"layer": "axis"})
    space.add_arc((0, 0), radius, 0, 180, dxfattribs={"layer": "outline"})
    space.add_lwpolyline([(-radius, 0, 1), (radius, 0, 0)], "xyb", dxfattribs={"layer": "outline"})
    out = io.StringIO()
    drawing.write(out)
    return out.getvalue().encode()


def _heard(path: Path) -> object:
    with recordings_apart([path]) as finished:
        return finished()


def _drawn(path: Path) -> object:
    return read_edge(path, "outline")


KINDS = (
    Kind("wav", _written("WAV", "PCM_U8", "PCM_16", "PCM_24", "FLOAT"), _heard),
    Kind("wav", _written("WAVEX", "PCM_16", "PCM_24", "FLOAT"), _heard),
    Kind("flac", _written("FLAC", "PCM_16", "PCM_24"), _heard),
    Kind("ogg", _written("OGG", "VORBIS"), _heard),
    Kind("mp3", _written("MP3", "MPEG_LAYER_III"), _heard),
    Kind("m4a", _telephone, _heard),
    Kind("jpg", _picture("JPEG"), photo_apart),
    Kind("jpg", _picture("JPEG", progressive=True), photo_apart),
    Kind("png", _picture("PNG"), photo_apart),
    Kind("svg", _svg, _drawn),
    Kind("dxf", _dxf, _drawn),
)


def spoilt(content: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with one to three things done to it."""
    for _ in range(int(rng.integers(1, 4))):
        size = len(content)
        if size < 16:
            return content
        first, second, third = sorted(rng.integers(0, size, 3).tolist())
        wild = bytearray(content)
        match int(rng.integers(0, 6)):
            case 0:
                content = content[:second]
            case 1:
                for place in rng.integers(0, min(size, 400) if rng.random() < 0.5 else size, 8):
                    wild[place] ^= 1 << int(rng.integers(0, 8))
                content = bytes(wild)
            case 2:
                wild[first : first + 8] = rng.bytes(8)
                content = bytes(wild)
            case 3:
                content = content[:first] + content[second:third] + content[first:second] + content[third:]
            case 4:
                content = content[:second] + content[first:]
            case _:
                content = content[:first] + content[second:]
    return content


def tried(kind: Kind, files: int, rng: np.random.Generator, place: Path) -> Tally:
    """Read a good file of a kind and some spoilt ones made of it."""
    tally, good = Tally(), kind.made(rng)
    for number in range(files):
        path = place / f"file-{number}.{kind.ending}"
        path.write_bytes(spoilt(good, rng) if number else good)
        tally.good += not number
        tally.spoilt += bool(number)
        begun = time.monotonic()
        try:
            kind.read(path)
        except InputError as error:
            tally.good_refused += not number
            tally.spoilt_refused += bool(number)
            tally.faults += "\n" in str(error) or path.name not in str(error)
        except Exception as error:  # a fault of the program, which is what is looked for
            print(f"{path.name}: {type(error).__name__}: {error}", file=sys.stderr)
            tally.faults += 1
        tally.longest = max(tally.longest, time.monotonic() - begun)
    return tally


def trial(rounds: int, each: int, seed: int) -> Iterator[tuple[str, Tally]]:
    """Yield what comes of each kind of file, ``rounds`` good ones with ``each - 1`` spoilt ones to each."""
    for number, kind in enumerate(KINDS):
        whole = Tally()
        for round_ in range(rounds):
            with tempfile.TemporaryDirectory() as place:
                tally = tried(kind, each, np.random.default_rng([seed, number, round_]), Path(place))
            whole = Tally(
                whole.good + tally.good,
                whole.good_refused + tally.good_refused,
                whole.spoilt + tally.spoilt,
                whole.spoilt_refused + tally.spoilt_refused,
                whole.faults + tally.faults,
                max(whole.longest, tally.longest),
            )
        yield f"{kind.ending} ({number})", whole


def main() -> None:
    """Print one line for each kind of file."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=20, help="good files of each kind")
    parser.add_argument("--each", type=int, default=10, help="readings of each: as it is, then spoilt")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    for words, tally in trial(asked.count, asked.each, asked.seed):
        print(f"{words}: {tally}", flush=True)


if __name__ == "__main__":
    main()
