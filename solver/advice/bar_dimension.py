"""The dimensions of a bar, each of which can be changed while the others stay."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

import numpy as np

from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate.bar import Bar

DimensionName = Literal["height", "width", "length", "from_x", "from_y", "to_x", "to_y", "shift"]

STEEPEST_TAPER = 0.25
"""Most that a bar may rise along its length, 1 mm in 4 mm: a steeper taper is short grain that chips and stiffens little
(common practice, no source)."""

_TAPER_SPAN = 0.1
"""Share of the length over which the rise is taken, so that a bluntly cut end does not count as a taper."""


@dataclass(frozen=True)
class BarDimension:
    """One dimension: ``words`` to call it by; ``read`` it [m] off a bar; ``changed`` returns the bar with another [m]."""

    name: DimensionName
    words: str
    read: Callable[[Bar], float]
    changed: Callable[[Bar, float], Bar]


def check_taper(bar: Bar, where: str) -> None:
    """Refuse a bar that is higher than its taper allows; ``where`` says which bar it is.

    Raises
    ------
    InputError
        If over a tenth of its length it rises by more than 1 mm in 4 mm.
    """
    fraction = np.linspace(0.0, 1.0, 201)
    height = bar.height_at(bar.start + fraction[:, None] * (bar.end - bar.start))
    span = round(_TAPER_SPAN * (len(fraction) - 1))
    rise = float(np.abs(height[span:] - height[:-span]).max()) / (_TAPER_SPAN * bar.length)
    if rise > STEEPEST_TAPER:
        most = _height(bar) * STEEPEST_TAPER / rise
        raise InputError(
            f"{where} rises 1 mm in {1 / rise:.1f} mm along its taper; expected at most 1 mm in "
            f"{1 / STEEPEST_TAPER:g} mm. Keep it at {np.floor(most / MM * 10) / 10:.1f} mm or lower, or make it longer."
        )


def _height(bar: Bar) -> float:
    return float(bar.profile[:, 1].max())


def _with_height(bar: Bar, height: float) -> Bar:
    """All heights in proportion, so that the taper keeps its form."""
    return replace(bar, profile=bar.profile * [1.0, height / _height(bar)])


def _with_length(bar: Bar, length: float) -> Bar:
    """The middle and the direction stay."""
    middle, half = 0.5 * (bar.start + bar.end), 0.5 * length * bar.direction
    return replace(bar, start=middle - half, end=middle + half)


def _with_start(bar: Bar, value: float, axis: int) -> Bar:
    return replace(bar, start=np.where(np.arange(2) == axis, value, bar.start))


def _with_end(bar: Bar, value: float, axis: int) -> Bar:
    return replace(bar, end=np.where(np.arange(2) == axis, value, bar.end))


def _shifted(bar: Bar, across: float) -> Bar:
    sideways = np.array([0.0, across])
    return replace(bar, start=bar.start + sideways, end=bar.end + sideways)


_ALL = (
    BarDimension(
        "from_x", "x of the bar's lower end", lambda bar: float(bar.start[0]), partial(_with_start, axis=0)
    ),
    BarDimension(
        "from_y", "y of the bar's lower end", lambda bar: float(bar.start[1]), partial(_with_start, axis=1)
    ),
    BarDimension(
        "to_x", "x of the bar's upper end", lambda bar: float(bar.end[0]), partial(_with_end, axis=0)
    ),
    BarDimension(
        "to_y", "y of the bar's upper end", lambda bar: float(bar.end[1]), partial(_with_end, axis=1)
    ),
    BarDimension("length", "length of the bar", lambda bar: bar.length, _with_length),
    BarDimension(
        "width", "width of the bar", lambda bar: bar.width, lambda bar, value: replace(bar, width=value)
    ),
    BarDimension("height", "height of the bar", _height, _with_height),
    BarDimension("shift", "shift of the bar to the left", lambda _: 0.0, _shifted),
)
DIMENSIONS = {dimension.name: dimension for dimension in _ALL}
"""In the order in which several of them are applied."""
