"""Sheets of paper, and what part of each is a window on the plate."""

from dataclasses import dataclass
from typing import Literal, get_args

PaperName = Literal["A4", "Letter", "A3", "roll"]
PAPER_NAMES: tuple[PaperName, ...] = get_args(PaperName)

EDGE = 8.0
"""Left free all round [mm]: usual printers reach to 3 to 6 mm from the edge (common practice, no source)."""

HEAD, STRIP, FOOT = 8.0, 5.0, 15.0
"""Heading, words along the four sides of the window, rulers [mm]."""

FRONT_WIDTH, FRONT_HEIGHT = 194.0, 185.0
"""Room [mm] on a roll for what is the first page on other paper."""


@dataclass(frozen=True)
class Box:
    """A rectangle on paper [mm]."""

    left: float
    bottom: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right side [mm]."""
        return self.left + self.width

    @property
    def top(self) -> float:
        """Its upper side [mm]."""
        return self.bottom + self.height


@dataclass(frozen=True)
class Paper:
    """A page of ``width`` by ``height`` [mm]; ``front`` [mm] of it above the window is for words."""

    width: float
    height: float
    front: float = 0.0

    @property
    def window(self) -> Box:
        """The part of the page through which the plate is seen."""
        around, low, high = EDGE + STRIP, EDGE + FOOT + STRIP, EDGE + HEAD + STRIP + self.front
        return Box(around, low, self.width - 2 * around, self.height - low - high)

    @property
    def inner(self) -> Box:
        """The page without its free edge."""
        return Box(EDGE, EDGE, self.width - 2 * EDGE, self.height - 2 * EDGE)

    def turned(self) -> "Paper":
        """The same paper the other way up."""
        return Paper(self.height, self.width, self.front)


CUT_PAPERS: dict[str, Paper] = {
    "A4": Paper(210.0, 297.0),
    "Letter": Paper(215.9, 279.4),
    "A3": Paper(297.0, 420.0),
}
"""Upright sheets [mm]: ISO 216, and ANSI A (8.5 by 11 in)."""


def roll_for(width: float, height: float) -> Paper:
    """Return one page as large as a plate of this size [mm] needs, with the words above it."""
    around = EDGE + STRIP
    broad = max(width + 2 * around, FRONT_WIDTH + 2 * EDGE)
    return Paper(broad, height + 2 * around + HEAD + FOOT + FRONT_HEIGHT, FRONT_HEIGHT)
