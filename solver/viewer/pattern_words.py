"""How a seen pattern lies beside the computed one, in the words of the bench."""

from collections.abc import Iterator

import numpy as np

from solver.advice.pattern_difference import Parting
from solver.advice.pattern_reading import PatternReading
from solver.core.units import MM
from solver.plate.plate import Plate
from solver.viewer.captions import end_names, side_names

_FIGURES = {"1": "cross", "5": "ring"}
_LEVEL = 0.8 * MM
"""A pattern no farther than this off the middle is even, as far as powder tells."""


def figure_name(reading: PatternReading) -> str:
    """Return what the pattern is: the ring of mode 5, the cross of mode 1, else just the pattern."""
    return _FIGURES.get(reading.modes.names[reading.match.best.index] or "", "pattern")


def middle_words(reading: PatternReading) -> Iterator[str]:
    """Yield how evenly the seen and the computed pattern lie about the centre line, and how far they are shifted."""
    difference, plate = reading.difference, reading.plate
    figure = figure_name(reading)
    if np.isfinite(difference.seen_middle):
        computed = (
            f", the computed one {_off_middle(difference.computed_middle, plate)}"
            if np.isfinite(difference.computed_middle)
            else ""
        )
        yield f"The seen {figure} lies {_off_middle(difference.seen_middle, plate)}{computed}."
    (x, y), (upper, lower), (left, right) = difference.shift, end_names(plate.role), side_names(plate.role)
    parts = [
        f"{abs(value) / MM:.1f} mm nearer to the {more if value > 0 else less}"
        for value, more, less in ((x, upper, lower), (y, left, right))
        if abs(value) > _LEVEL
    ]
    if parts:
        yield f"As a whole the seen lines lie {' and '.join(parts)} than the computed ones."


def parting_words(parting: Parting, plate: Plate) -> str:
    """Return how the seen line lies beside the computed one at one place."""
    (upper, lower), (left, right) = end_names(plate.role), side_names(plate.role)
    x, y = parting.off
    towards = (upper if x > 0 else lower) if abs(x) > abs(y) else (left if y > 0 else right)
    return f"the seen line runs {parting.distance / MM:.1f} mm nearer to the {towards}"


def _off_middle(middle: float, plate: Plate) -> str:
    """Return how far a pattern lies off the centre line, and to which side."""
    if abs(middle) < _LEVEL:
        return "evenly about the centre line"
    left, right = side_names(plate.role)
    return f"{abs(middle) / MM:.1f} mm to the {left if middle > 0 else right}"
