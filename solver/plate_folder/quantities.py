"""Numbers with their sensible ranges, and the mistakes of unit that put one outside."""

import math
from collections.abc import Callable
from typing import Annotated

from pydantic import AfterValidator
from pydantic_core import PydanticCustomError

Mistake = tuple[str, Callable[[float], float]]

_LENGTH: tuple[Mistake, ...] = (
    ("inches", lambda v: 25.4 * v),
    ("cm", lambda v: 10 * v),
    ("metres", lambda v: 1000 * v),
    ("micrometres", lambda v: v / 1000),
)
_STIFFNESS: tuple[Mistake, ...] = (
    ("MPa", lambda v: v / 1e3),
    ("kPa", lambda v: v / 1e6),
    ("Pa", lambda v: v / 1e9),
)
_DENSITY: tuple[Mistake, ...] = (
    ("g/cm3", lambda v: 1000 * v),
    ("pounds per cubic foot", lambda v: 16.018 * v),
)
_MASS: tuple[Mistake, ...] = (("kg", lambda v: 1000 * v), ("mg", lambda v: v / 1000))
_FREQUENCY: tuple[Mistake, ...] = (("kHz", lambda v: 1000 * v),)
_TEMPERATURE: tuple[Mistake, ...] = (
    ("degrees Fahrenheit", lambda v: (v - 32) / 1.8),
    ("kelvin", lambda v: v - 273.15),
)
_SHARE: tuple[Mistake, ...] = (("a share of one", lambda v: 100 * v),)


def _expectation(value: float, low: float, high: float, mistakes: tuple[Mistake, ...] = ()) -> str:
    """Return what was expected in place of a value out of range, and the slip of unit that explains it."""
    said = f"expected {low:g} to {high:g}"
    for unit, converted in mistakes:
        if low <= converted(value) <= high:
            return f"{said}. If that was {unit}, write {converted(value):.4g}."
    if math.isnan(value):
        return f"{said}. Measure it, or take the line out."
    return f"{said}. Check the {'sign' if low <= -value <= high else 'decimal point'}."


def _between(low: float, high: float, mistakes: tuple[Mistake, ...] = ()) -> AfterValidator:
    def check(value: float) -> float:
        if low <= value <= high:
            return value
        said = _expectation(value, low, high, mistakes)
        raise PydanticCustomError("expected", "{said}", {"said": said})

    return AfterValidator(check)


DENSITY_RANGE = (150.0, 1400.0)
"""Least and greatest density [kg/m3] of a wood: lighter than balsa sold for models, heavier than any."""

Density = Annotated[float, _between(*DENSITY_RANGE, _DENSITY)]
Mass = Annotated[float, _between(1, 10000, _MASS)]
AlongStiffness = Annotated[float, _between(0.5, 40, _STIFFNESS)]
AcrossStiffness = Annotated[float, _between(0.02, 20, _STIFFNESS)]
ShearStiffness = Annotated[float, _between(0.001, 10, _STIFFNESS)]
PoissonRatio = Annotated[float, _between(0, 1)]
Angle = Annotated[float, _between(-180, 180)]
Thickness = Annotated[float, _between(0.5, 40, _LENGTH)]
Rise = Annotated[float, _between(1, 80, _LENGTH)]
Channel = Annotated[float, _between(0, 60, _LENGTH)]
Place = Annotated[float, _between(-2000, 2000, _LENGTH[-1:])]
BarWidth = Annotated[float, _between(1, 40, _LENGTH)]
BarHeight = Annotated[float, _between(0, 60, _LENGTH[-1:])]
Fraction = Annotated[float, _between(0, 1)]
Share = Annotated[float, _between(-3, 3)]
Frequency = Annotated[float, _between(5, 5000, _FREQUENCY)]
Temperature = Annotated[float, _between(-40, 60, _TEMPERATURE)]
Humidity = Annotated[float, _between(2, 100, _SHARE)]
ScraperWidth = Annotated[float, _between(4, 200, _LENGTH)]
CutDepth = Annotated[float, _between(0, 10, _LENGTH[-1:])]
