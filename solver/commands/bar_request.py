"""What a maker asks of ``platewright bar``: one dimension as a range, others as single values, one tone that is wanted."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import TypeAdapter, ValidationError

from solver.commands.typed_figures import NUMBER, typed_mode
from solver.core.errors import InputError
from solver.plate_folder.quantities import BarHeight, BarWidth, Place

if TYPE_CHECKING:
    from solver.advice.bar_dimension import DimensionName

MOST_STEPS = 41
"""More bars than this in one sweep show nothing new."""

OPTIONS: "Mapping[str, tuple[DimensionName, ...]]" = {
    "--from": ("from_x", "from_y"),
    "--to": ("to_x", "to_y"),
    "--length": ("length",),
    "--width": ("width",),
    "--height": ("height",),
    "--shift": ("shift",),
}
"""The options that take a dimension of the bar, or two with a comma between."""

_EXAMPLES = {
    "--from": "45,18",
    "--to": "313,12.5",
    "--length": "250..280",
    "--width": "5..6",
    "--height": "9..13",
    "--shift": "-3..3",
}
_CHECKS: "Mapping[DimensionName, TypeAdapter[float]]" = {
    "width": TypeAdapter(BarWidth),
    "height": TypeAdapter(BarHeight),
}
_PLACE: TypeAdapter[float] = TypeAdapter(Place)


@dataclass(frozen=True)
class Range:
    """The dimension that is varied, from ``low`` to ``high`` mm; ``option`` is how the maker asked for it."""

    dimension: "DimensionName"
    low_mm: float
    high_mm: float
    option: str


@dataclass(frozen=True)
class BarRequest:
    """What the maker asked for on the command line; ``fixed_mm`` in the order in which it was given."""

    folder: Path
    varied: Range
    fixed_mm: "Mapping[DimensionName, float]"
    species: str | None
    steps: int
    wanted: tuple[str, float] | None
    as_json: bool
    pictures: Path | None


def read_dimensions(given: Mapping[str, str | None]) -> "tuple[Range, dict[DimensionName, float]]":
    """Return the range and the single values of the options that were given, by their names as in ``OPTIONS``.

    Raises
    ------
    InputError
        If something is no number or out of its range, or if not exactly one range is given.
    """
    ranges: list[Range] = []
    fixed: dict[DimensionName, float] = {}
    texts = {option: text for option, text in given.items() if text is not None}
    for option, text in texts.items():
        for name, part in zip(OPTIONS[option], _parts(option, text), strict=True):
            low, high = _bounds(option, text, part, name)
            if low == high:
                fixed[name] = low
            else:
                ranges.append(Range(name, low, high, f"{option} {text}"))
    if len(ranges) != 1:
        said = f"{' and '.join(r.option for r in ranges)} are ranges" if ranges else "no range was given"
        raise InputError(
            f"platewright bar: {said}; expected LOW..HIGH for exactly one of {', '.join(OPTIONS)}. "
            "Write for instance --height 9..13, and single values for the others."
        )
    if "--length" in texts and ("--from" in texts or "--to" in texts):
        raise InputError(
            f"--length {texts['--length']}: the ends are given too; expected the length or the ends. Take one of them out."
        )
    return ranges[0], fixed


def read_wanted(text: str | None) -> tuple[str, float] | None:
    """Return mode and frequency [Hz] of ``--want 5=346``; raises InputError for anything else."""
    return None if text is None else typed_mode("--want", text)


def checked_steps(steps: int) -> int:
    """Return how many bars to try; raises InputError if that is no sweep, or more than anybody reads."""
    if not 2 <= steps <= MOST_STEPS:
        raise InputError(f"--steps: {steps} bars; expected 2 to {MOST_STEPS}. Choose a number in between.")
    return steps


def _parts(option: str, text: str) -> list[str]:
    """Cut the text of an option into the parts for its dimensions."""
    names = OPTIONS[option]
    parts = text.split(",")
    if len(parts) != len(names):
        what = "a point x,y" if len(names) == 2 else "a number or LOW..HIGH"
        point = ", with a decimal point" if len(names) == 1 and len(parts) == 2 else ""
        raise InputError(
            f"{option}: '{text}'; expected {what} in mm{point}. Write for instance {option} {_EXAMPLES[option]}."
        )
    return parts


def _bounds(option: str, text: str, part: str, name: "DimensionName") -> tuple[float, float]:
    """Return the lowest and the highest value [mm] of ``12`` or ``9..13``."""
    found = re.fullmatch(rf"\s*({NUMBER})\s*(?:\.\.\s*({NUMBER})\s*)?", part)
    if found is None:
        raise InputError(
            f"{option}: '{text}'; expected a number or LOW..HIGH in mm. Write for instance {option} {_EXAMPLES[option]}."
        )
    low, high = float(found[1]), float(found[2] or found[1])
    for value in low, high:
        try:
            _CHECKS.get(name, _PLACE).validate_python(value)
        except ValidationError as error:
            raise InputError(f"{option} is {value:g}; {error.errors()[0]['msg']}") from None
    if name in ("height", "length") and low <= 0:
        raise InputError(
            f"{option}: '{text}'; expected more than 0 mm. The plate without a bar is shown in any case."
        )
    if low > high or (found[2] and low == high):
        raise InputError(f"{option}: '{text}'; expected LOW below HIGH. Write the smaller value first.")
    return low, high
