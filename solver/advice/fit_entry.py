"""An entry of the log as the fit takes it, and what the weather of its day did to it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from solver.advice.climate_shift import weather_of
from solver.advice.fit_states import Linearised, PlateState
from solver.core.arrays import Floats, freeze
from solver.plate.climate import Condition, mass_factor
from solver.plate.plate import Plate
from solver.plate.plate_doubt import Doubts

UNKNOWN_ROOM, UNKNOWN_WATER = 0.008, 0.010
"""Of tones and mass where an entry names no room: a tenth of humidity either way (common practice, no source)."""
BAND = 3**-0.5
"""Standard deviation of what lies anywhere in a band, over half its width."""


@dataclass(frozen=True, eq=False)
class FitEntry:
    """One entry of the log: the plate as it was (its wood that believed in), what was heard and weighed.

    ``numbered`` [Hz] by the trade's number, ``heard`` [Hz] of no known mode, ``mass`` [kg]; ``conditions`` the driest
    and the dampest that the wood may have been, or None where no room is known. ``remark`` says what contradicts the
    plate in it, if anything does.
    """

    name: str
    plate: Plate
    doubts: Doubts
    numbered: Mapping[str, float]
    heard: tuple[float, ...]
    mass: float | None
    conditions: tuple[Condition, Condition] | None
    remark: str = ""


@dataclass(frozen=True, eq=False)
class WeatherShift:
    """Change of ``ln f`` (k,) of a state's tones from an entry's climate to the reference, its standard deviation
    (k,), in which all tones of the entry go together; and the same of ``ln m``."""

    tones: Floats
    spread: Floats
    mass: float
    mass_spread: float

    def __post_init__(self) -> None:
        freeze(self, tones=((None,), float), spread=((len(self.tones),), float))


def weather_shifts(
    entries: Sequence[FitEntry],
    states: tuple[int, ...],
    plates: Sequence[PlateState],
    linear: Linearised,
    reference: Condition | None,
) -> Iterator[WeatherShift]:
    """Yield what the weather does to each entry, found where the states were first solved."""
    answers = {}
    for entry, state in zip(entries, states, strict=True):
        response = linear.responses[state]
        tones = len(response.modes.hz)
        if reference is None:
            yield WeatherShift(np.zeros(tones), np.zeros(tones), 0.0, 0.0)
        elif entry.conditions is None:
            yield WeatherShift(np.zeros(tones), np.full(tones, UNKNOWN_ROOM), 0.0, UNKNOWN_WATER)
        else:
            if state not in answers:
                on = plates[state].on
                answers[state] = weather_of(on.plate, on.mesh, response.modes, response.wood)
            bands = np.array([answers[state].shift(condition, reference) for condition in entry.conditions])
            low, high = bands[:, :, 0].min(axis=0), bands[:, :, 1].max(axis=0)
            factors = np.log([mass_factor(condition, reference) for condition in entry.conditions])
            yield WeatherShift(
                (low + high) / 2,
                BAND * (high - low) / 2,
                float(factors.mean()),
                BAND * float(np.ptp(factors)) / 2,
            )
