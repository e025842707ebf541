"""A plate in one room and in another: its wood, its mass, its sizes and its tones."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from solver.advice.climate_log import Weathered
from solver.advice.climate_shift import WeatherResponse
from solver.core.arrays import Floats
from solver.core.units import GPA, GRAM, MM
from solver.plate.climate import (
    GROUPS,
    Climate,
    Condition,
    mass_factor,
    settled_in,
    stiffness_change,
    swollen_by,
)
from solver.plate.mass import survey_cells


@dataclass(frozen=True, eq=False)
class Weather:
    """A plate of which the figures hold in the room ``reference``, brought from the room ``start`` to the room ``to``.

    ``entries`` are those of the log with a room, oldest first; ``left_out`` says which are not, and why.
    """

    response: WeatherResponse
    reference: Climate
    start: Climate
    to: Climate
    entries: tuple[Weathered, ...]
    left_out: tuple[str, ...]

    @property
    def conditions(self) -> tuple[Condition, Condition, Condition]:
        """The wood as its figures are stated, as it comes, as it goes."""
        return settled_in(self.reference), settled_in(self.start), settled_in(self.to)


@dataclass(frozen=True, eq=False)
class Change:
    """One figure as it is now and, low to high, as it will be; ``digits`` after the point are worth showing."""

    name: str
    unit: str
    now: float
    low: float
    high: float
    digits: int


def tones_there(weather: Weather) -> tuple[Floats, Floats]:
    """Return the tones (k,) [Hz] as the plate comes, and (k, 2) low and high as it goes."""
    stated, start, end = weather.conditions
    response = weather.response
    now = response.modes.hz * np.exp(response.shift(stated, start).mean(axis=1))
    return now, now[:, None] * np.exp(response.shift(start, end))


def figures_there(weather: Weather) -> Iterator[Change]:
    """Yield mass, density, moduli and sizes, before and after."""
    stated, start, end = weather.conditions
    wood = weather.response.plate.wood
    mass = weather.response.modes.mass / GRAM * mass_factor(stated, start)
    heavier = mass_factor(start, end)
    yield Change("mass", "g", mass, mass * heavier, mass * heavier, 2)
    grown = swollen_by(wood, start.moisture_pct - stated.moisture_pct)
    growing = swollen_by(wood, end.moisture_pct - start.moisture_pct)
    density = wood.density * mass_factor(stated, start) / float(grown.prod())
    denser = density * heavier / float(growing.prod())
    yield Change("density", "kg_m3", density, denser, denser, 1)
    before = stiffness_change(wood, stated, start).mean(axis=1)
    band = stiffness_change(wood, start, end)
    for (_, constants), first, (low, high) in zip(GROUPS, before, band, strict=True):
        for constant in constants:
            now = getattr(wood, constant) / GPA * float(np.exp(first))
            yield Change(
                constant,
                "GPa",
                now,
                now * float(np.exp(low)),
                now * float(np.exp(high)),
                3 if now > 0.1 else 4,
            )
    for name, size, axis in _sizes(weather.response):
        now = size * float(grown[axis])
        there = now * float(growing[axis])
        yield Change(name, "mm", now, there, there, 3)


def _sizes(response: WeatherResponse) -> Iterator[tuple[str, float, int]]:
    """Yield the sizes [mm] of the plate, and along which of its axes each lies."""
    plate = response.plate
    cells = survey_cells(plate.outline)
    x_low, y_low, x_high, y_high = plate.outline.bounds
    yield "length", (x_high - x_low) / MM, 0
    yield "width", (y_high - y_low) / MM, 1
    thickness = plate.graduation.at(cells.points)
    yield "mean_thickness", float(np.average(thickness, weights=cells.areas)) / MM, 2
    if rise := float(np.ptp(plate.arch.at(cells.points).height)):
        yield "rise", rise / MM, 2
