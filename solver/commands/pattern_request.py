"""What a maker asks of ``platewright pattern``: a photo, what was played, and places pointed out on it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from solver.core.errors import InputError

Side = Literal["inside", "outside"]

HZ = (10.0, 5000.0)
"""What a loudspeaker under a plate plays (common practice, no source)."""

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)"
_EXAMPLE = "Write for instance --landmark 812,140=354,0 or --landmark 812,140=neck"


@dataclass(frozen=True)
class LandmarkText:
    """A place pointed out: column and row on the photo, and what it is on the plate: x and y in mm, or a name."""

    pixel: tuple[float, float]
    place: tuple[float, float] | str


@dataclass(frozen=True)
class PatternRequest:
    """What the maker asked for on the command line; ``hz`` is what was played, ``mode`` the trade's number it should be."""

    folder: Path
    photo: Path
    hz: float | None
    mode: str | None
    seen: Side | None
    landmarks: tuple[LandmarkText, ...]
    lines: Path | None
    picture: Path | None
    as_json: bool


def checked_hz(hz: float | None) -> float | None:
    """Return the tone that was played; raises InputError for what no loudspeaker plays."""
    if hz is not None and not HZ[0] <= hz <= HZ[1]:
        raise InputError(f"--hz: {hz:g} Hz; expected {HZ[0]:g} to {HZ[1]:g}. Give what the generator played.")
    return hz


def checked_side(text: str | None) -> Side | None:
    """Return the side that was photographed; raises InputError for any other word."""
    if text is None:
        return None
    if text == "inside":
        return "inside"
    if text == "outside":
        return "outside"
    raise InputError(f'--seen: "{text}"; expected inside (the hollow side) or outside. Write one of them.')


def read_landmarks(texts: Sequence[str]) -> tuple[LandmarkText, ...]:
    """Return the places pointed out; raises InputError if one is not X_PX,Y_PX=X_MM,Y_MM or X_PX,Y_PX=NAME."""
    return tuple(_read_landmark(text) for text in texts)


def _read_landmark(text: str) -> LandmarkText:
    pixel, _, place = (part.strip() for part in text.partition("="))
    where = _pair(pixel)
    if where is not None and re.fullmatch(r"[a-z]+(-[a-z]+)?", place):
        return LandmarkText(where, place)
    there = _pair(place)
    if where is None or there is None:
        raise InputError(
            f"--landmark: '{text}'; expected X_PX,Y_PX=X_MM,Y_MM, or a name after the = sign. {_EXAMPLE}."
        )
    return LandmarkText(where, there)


def _pair(text: str) -> tuple[float, float] | None:
    parts = [part.strip() for part in text.split(",")]
    if len(parts) != 2 or not all(re.fullmatch(_NUMBER, part) for part in parts):
        return None
    return float(parts[0]), float(parts[1])
