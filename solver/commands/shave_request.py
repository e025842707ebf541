"""What a maker asks of ``platewright shave``: hollows, each as X,Y,RADIUS,DEPTH in mm."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from solver.core.errors import InputError

MOST_SHOWN = 16
"""As many tones are followed safely; one further up might have gone over into a tone that was not computed."""

RADIUS_MM = (6.0, 200.0)
"""From the smallest hollow that a scraper leaves to one as large as a bout of a cello (common practice, no source)."""

MOST_DEPTH_MM = 10.0
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)"
_EXAMPLE = "Write for instance --spot 250,0,30,0.2"


@dataclass(frozen=True)
class SpotMm:
    """A hollow to be taken from the inside, all in mm."""

    x: float
    y: float
    radius: float
    depth: float


@dataclass(frozen=True)
class ShaveRequest:
    """What the maker asked for on the command line."""

    folder: Path
    spots: tuple[SpotMm, ...]
    count: int
    as_json: bool
    pictures: Path | None


def checked_count(count: int) -> int:
    """Return how many tones to show; raises InputError for none, or more than can be followed by their shape."""
    if not 1 <= count <= MOST_SHOWN:
        raise InputError(f"--count: {count} tones; expected 1 to {MOST_SHOWN}. Choose a number in between.")
    return count


def read_spots(texts: Sequence[str]) -> tuple[SpotMm, ...]:
    """Return the hollows asked for.

    Raises
    ------
    InputError
        If there is none, or one is not four numbers of which radius and depth can be those of a shaving.
    """
    if not texts:
        raise InputError(
            f"platewright shave: no spot is given; expected at least one X,Y,RADIUS,DEPTH in mm. {_EXAMPLE}."
        )
    return tuple(_read_spot(text) for text in texts)


def _read_spot(text: str) -> SpotMm:
    parts = [part.strip() for part in text.split(",")]
    if len(parts) != 4 or not all(re.fullmatch(_NUMBER, part) for part in parts):
        raise InputError(
            f"--spot: '{text}'; expected X,Y,RADIUS,DEPTH in mm, four numbers with decimal points. {_EXAMPLE}."
        )
    spot = SpotMm(*(float(part) for part in parts))
    low, high = RADIUS_MM
    if not low <= spot.radius <= high:
        inches = (
            f" If that was inches, write {25.4 * spot.radius:.4g}."
            if low <= 25.4 * spot.radius <= high
            else ""
        )
        raise InputError(
            f"--spot {text}: the radius is {spot.radius:g} mm; expected {low:g} to {high:g}.{inches or ' Check the order.'}"
        )
    if spot.depth < 0:
        raise InputError(
            f"--spot {text}: the depth is {spot.depth:g} mm; expected more than 0, because wood cannot be put back. "
            f"To take that much, write {-spot.depth:g}."
        )
    if spot.depth == 0 or spot.depth > MOST_DEPTH_MM or not math.isfinite(spot.x + spot.y):
        raise InputError(
            f"--spot {text}: the depth is {spot.depth:g} mm; expected more than 0 and at most {MOST_DEPTH_MM:g}. "
            "Check the order: X,Y,RADIUS,DEPTH."
        )
    return spot
