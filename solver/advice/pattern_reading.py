"""A photographed pattern read against a computed plate: the mode, the difference, and what to beware of."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from solver.advice.pattern_difference import PatternDifference, pattern_difference
from solver.advice.pattern_match import ALIKE, CLEAR, PatternMatch, match_pattern
from solver.advice.plate_patterns import PlatePatterns
from solver.advice.shape_hint import ShapeHint, shape_hint
from solver.core.errors import InputError
from solver.measured.powder_photo import PlateView
from solver.modal.modes import Modes
from solver.plate.mode_label import called
from solver.plate.plate import Plate

_SIDE_CLEAR = 0.06
"""Lead in score by which the side that was photographed is told from the other."""

_FAR_OFF = 0.3
"""Natural logarithm of played over computed tone beyond which they contradict each other: a third."""


@dataclass(frozen=True, eq=False)
class PatternReading:
    """What a photo shows of a plate; ``hz`` is what was played, where the maker said so."""

    patterns: PlatePatterns
    match: PatternMatch
    difference: PatternDifference
    hint: ShapeHint | None
    hz: float | None

    @property
    def plate(self) -> Plate:
        """The plate."""
        return self.patterns.plate

    @property
    def modes(self) -> Modes:
        """Its computed modes."""
        return self.patterns.modes

    @property
    def side(self) -> Literal["inside", "outside"]:
        """The side from which the plate is seen."""
        return "inside" if self.match.view.inside else "outside"

    @property
    def side_is_read(self) -> bool:
        """Tell whether only the lines say which side is seen, not edge or maker: the wrong one if the photo is mirrored."""
        other = self.match.other_side
        return other is not None and self.match.best.score - other >= _SIDE_CLEAR

    def doubts(self) -> Iterator[str]:
        """Yield what the maker should beware of."""
        match = self.match
        if match.clearest.index != match.best.index and match.clearest.score > match.best.score + CLEAR:
            yield (
                f"The lines look more like {self.called(match.clearest.index)} (score {match.clearest.score:.2f}) than "
                f"like {self.called(match.best.index)} (score {match.best.score:.2f}): check what was played."
            )
        elif 0 <= match.margin < CLEAR and match.next_best is not None:
            yield f"{self.called(match.next_best.index).capitalize()} fits nearly as well: the naming is not sure."
        computed = float(self.modes.hz[match.best.index])
        if self.hz is not None and abs(np.log(self.hz / computed)) > _FAR_OFF:
            yield (
                f"{self.hz:g} Hz was played, but {self.called(match.best.index)} is computed at {computed:.0f} Hz: "
                "one of them is wrong, or the wood is quite another."
            )
        if match.other_side is not None and not self.side_is_read:
            yield (
                f"Whether the plate is seen from the inside or the outside cannot be told from the photo; taken as from "
                f"the {self.side}, so left and right may be exchanged. Say which with --seen."
            )

    def called(self, index: int) -> str:
        """Return "mode 5", or "the 7th tone" where the trade has no number for it."""
        name = self.modes.names[index]
        return f"mode {name}" if name else f"the {called(name, index)}"


def read_against(
    patterns: PlatePatterns,
    views: Sequence[PlateView],
    photo: str,
    hz: float | None = None,
    index: int | None = None,
) -> PatternReading:
    """Return what the pattern shows; ``hz`` was played, ``index`` is the tone that the maker says it is.

    Raises
    ------
    InputError
        If the lines are like those of no tone.
    """
    match = match_pattern(patterns.modes, views, patterns.size, hz, index)
    if match.clearest.score < ALIKE:
        raise InputError(
            f"{photo}: the lines on it are like no computed mode (score {match.clearest.score:.2f}); expected a pattern of "
            f"this plate (score {ALIKE:g} or more). Check the folder, and that the picture is not mirrored, strew "
            "anew, play on the tone itself, or, where bench and wood are alike, point out four places with --landmark."
        )
    hint = shape_hint(patterns.plate, patterns.shape_change(match.best.index), match.best.pair)
    return PatternReading(patterns, match, pattern_difference(match), hint, hz)
