"""Top and back as a pair: like modes side by side in one room, and the relation that is wanted between them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from solver.advice.climate_log import Weathered, brought_to
from solver.advice.climate_shift import WeatherResponse
from solver.advice.fitted_tones import MASS, FittedBelief, FittedTones
from solver.modal.pitch import CLEAN_CENTS, cents_between
from solver.plate.climate import Climate, settled_in
from solver.plate.wood_posterior import TWO_SIDED_95

WITHIN_CENTS = 6.0
"""How far inside a wanted range a plan aims: a little more than the share by which it may miss its wish."""


@dataclass(frozen=True)
class Relation:
    """By how many cents a mode of the back shall lie above the same mode of the top, from ``low`` to ``high``."""

    mode: str
    low: float
    high: float

    def holds(self, cents: float) -> bool:
        """Tell whether an interval is within the range, or as near to a single interval as an ear can hold it."""
        slack = max(0.0, CLEAN_CENTS - 0.5 * (self.high - self.low))
        return self.low - slack <= cents <= self.high + slack

    def aim(self, cents: float) -> float:
        """Return the interval to make of one that lies outside: the nearest, a little inside the range."""
        inside = min(WITHIN_CENTS, 0.5 * (self.high - self.low))
        return float(np.clip(cents, self.low + inside, self.high - inside))


@dataclass(frozen=True)
class Band:
    """A figure, low to high."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        """The figure in the middle, as intervals are counted."""
        return float(np.sqrt(self.low * self.high))


@dataclass(frozen=True)
class PairTone:
    """One mode [Hz] of the top and of the back, in one room."""

    top: Band
    back: Band

    @property
    def cents(self) -> float:
        """By how much the back's lies above the top's."""
        return cents_between(self.top.middle, self.back.middle)

    @property
    def low(self) -> float:
        """The least interval [cents] that the bands allow."""
        return cents_between(self.top.high, self.back.low)

    @property
    def high(self) -> float:
        """The greatest interval [cents] that the bands allow."""
        return cents_between(self.top.low, self.back.high)


@dataclass(frozen=True)
class PairedMode:
    """One mode of both plates as computed and, where both were tapped, as heard."""

    mode: str
    computed: PairTone
    heard: PairTone | None

    @property
    def taken(self) -> PairTone:
        """What counts: the tones heard, of both plates or of neither, for the model's errors would stand between them."""
        return self.heard or self.computed


@dataclass(frozen=True, eq=False)
class PairMember:
    """One plate of a pair: its answer to the weather, the room in which its figures hold, and the tones last heard.

    ``fitted`` are the tones expected, with their intervals, and ``belief`` what they rest on, where its wood was fitted.
    """

    response: WeatherResponse
    stated: Climate
    heard: Weathered | None
    belief: FittedBelief | None = None
    fitted: FittedTones | None = None

    def computed_in(self, room: Climate) -> Mapping[str, Band]:
        """Return the computed tones [Hz] by the numbers of the modes in another room: by weather and fitted wood."""
        low, high = self.response.shift(settled_in(self.stated), settled_in(room)).T
        names, hz, half = self.response.modes.names, self.response.modes.hz, 0.5 * (high - low)
        if self.fitted is not None:
            hz = self.fitted.forecast.expected
            half = np.hypot(half, TWO_SIDED_95 * self.fitted.forecast.spread)
        middle = hz * np.exp(0.5 * (low + high))
        bands = zip((middle * np.exp(-half)).tolist(), (middle * np.exp(half)).tolist(), strict=True)
        return {name: Band(*band) for name, band in zip(names, bands, strict=True) if name is not None}

    @property
    def mass(self) -> float:
        """The mass [kg] computed, where the wood was fitted the one expected."""
        return self.response.modes.mass * (self.fitted.factors[MASS] if self.fitted else 1.0)

    def heard_in(self, room: Climate) -> Mapping[str, Band]:
        """Return the tones heard [Hz] as they would be in another room."""
        if self.heard is None:
            return {}
        brought = brought_to(self.response, self.heard, settled_in(room))
        return {name: Band(*band) for name, band in brought.items()}


@dataclass(frozen=True, eq=False)
class PlatePair:
    """A top and a back in one room: their like modes, and which of the relations that are wanted holds, if any is."""

    top: PairMember
    back: PairMember
    room: Climate
    modes: tuple[PairedMode, ...]
    relations: tuple[Relation, ...]

    def tone(self, relation: Relation) -> PairTone:
        """Return the tones of which a relation speaks."""
        return next(paired.taken for paired in self.modes if paired.mode == relation.mode)

    def holds(self, relation: Relation) -> bool:
        """Tell whether a relation holds, by the middle of the bands."""
        return relation.holds(self.tone(relation).cents)

    def is_sure(self, relation: Relation) -> bool:
        """Tell whether both ends of the band say the same of a relation."""
        tone = self.tone(relation)
        within = [relation.holds(cents) for cents in (tone.low, tone.high)]
        astride = tone.low < relation.low and tone.high > relation.high
        return within[0] == within[1] and (self.holds(relation) == within[0]) and not astride


def pair_plates(top: PairMember, back: PairMember, room: Climate, relations: Sequence[Relation]) -> PlatePair:
    """Return both plates side by side, with the relations wanted of modes that both of them show."""
    tops, backs = top.computed_in(room), back.computed_in(room)
    heard_tops, heard_backs = top.heard_in(room), back.heard_in(room)
    modes = tuple(
        PairedMode(
            name,
            PairTone(tops[name], backs[name]),
            PairTone(heard_tops[name], heard_backs[name])
            if name in heard_tops and name in heard_backs
            else None,
        )
        for name in sorted(tops, key=lambda name: tops[name].middle)
        if name in backs
    )
    return PlatePair(top, back, room, modes, tuple(relations))
