"""What the log tells of a plate: tones brought to one climate and paired with modes, masses, and which of them count."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from solver.advice.climate_shift import weather_of
from solver.advice.fit_states import Apart, Linearised, PlateState
from solver.advice.joint_belief import Belief, Seen, side_by_side, tempered
from solver.advice.pairing import Expected, HeardTone, Paired, pair_tones
from solver.advice.plate_doubt import READING, SCALES, Doubts
from solver.advice.tone_response import PARAMETERS
from solver.advice.wood_posterior import TWO_SIDED_95
from solver.arrays import Floats, Ints, freeze
from solver.plate.climate import Condition, mass_factor
from solver.plate.plate import Plate

WRONG_MASS = 4.0
"""Standard deviations by which a mass may differ from volume times density before it is set aside."""
UNKNOWN_ROOM, UNKNOWN_WATER = 0.008, 0.010
"""Of tones and mass where an entry names no room: a tenth of humidity either way (common practice, no source)."""
BAND = 3**-0.5
"""Standard deviation of what lies anywhere in a band, over half its width."""
USUAL_UNEVENNESS = 0.005
"""Of single tones because density and stiffness are not the same all over a board: the mean residual of three spruce plates
measured by Badiane et al. is 0.6 to 1.9 % (see the validation), of which half a per cent is reading."""
UNEVENNESSES = 0.001 * np.array([0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 13.0, 16.0, 20.0])
_Q = len(PARAMETERS)


@dataclass(frozen=True, eq=False)
class FitEntry:
    """One entry of the log: the plate as it was (its wood that believed in), what was heard and weighed.

    ``numbered`` [Hz] by the trade's number, ``heard`` [Hz] of no known mode, ``mass`` [kg]; ``conditions`` the driest
    and the dampest that the wood may have been, or None where no room is known.
    """

    name: str
    plate: Plate
    doubts: Doubts
    numbered: Mapping[str, float]
    heard: tuple[float, ...]
    mass: float | None
    conditions: tuple[Condition, Condition] | None


@dataclass(frozen=True)
class FittedMass:
    """One weighing [kg], brought to the reference climate by a factor; ``expected`` [kg] before, with its 95 % interval."""

    entry: str
    mass: float
    factor: float
    expected: float
    low: float
    high: float
    is_used: bool


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


@dataclass(frozen=True, eq=False)
class Told:
    """What the log told in one step: where each tone was put, which are ``used`` with which ``weights`` (u,), the
    masses; what was ``before`` and is ``after`` believed of parameters and tones, and the measurements that made the
    difference.

    The first rows of ``seen`` are the used masses, then come the used tones; ``uneven`` [-] is by how much each tone is off
    because the wood is not the same everywhere.
    """

    paired: tuple[Paired, ...]
    used: Ints
    weights: Floats
    masses: tuple[FittedMass, ...]
    seen: Seen
    before: Belief
    after: Belief
    uneven: float


@dataclass(frozen=True, eq=False)
class Evidence:
    """All that the entries tell; ``states`` (n,) the state of each entry, ``shifts`` (n,) its weather."""

    entries: Sequence[FitEntry]
    states: tuple[int, ...]
    shifts: tuple[WeatherShift, ...]

    @property
    def tones(self) -> tuple[tuple[int, str | None, float], ...]:
        """All tones [Hz] with the place of their entry and their number, if they have one."""
        return tuple(
            (i, number, hz)
            for i, entry in enumerate(self.entries)
            for number, hz in (*entry.numbered.items(), *((None, hz) for hz in entry.heard))
        )

    def told(self, linear: Linearised, prior: Floats, apart: Apart) -> Told:
        """Return what is believed after masses and tones, to first order from where ``linear`` was taken.

        How uneven the wood is, the tones tell themselves: they are paired as if it were usual, then again with what makes
        them the most probable.
        """
        first = self._told_if(linear, prior, apart, USUAL_UNEVENNESS)
        spread = _unevenness(linear, prior, apart, first.seen)
        return self._told_if(linear, prior, apart, spread)

    def _told_if(self, linear: Linearised, prior: Floats, apart: Apart, uneven: float) -> Told:
        before = linear.belief(prior, apart.with_unevenness(uneven))
        masses, weighed = self._masses(linear, before)
        heavy = before.given(weighed) if len(weighed.values) else before
        paired = pair_tones(_expected(linear, heavy), self._heard())
        used = np.array([t for t, p in enumerate(paired) if self._counts(linear, t, p)], dtype=np.int64)
        heard = self._seen(linear, paired, used)
        both = Seen(
            np.concatenate([weighed.values, heard.values]),
            np.vstack([weighed.rows, heard.rows]),
            side_by_side([weighed.noise, heard.noise]),
        )
        first = len(weighed.values)
        even = tempered(before, both, np.arange(first, len(both.values)))
        weights = np.diag(both.noise)[first:] / np.diag(even.noise)[first:]
        after = before.given(even) if len(even.values) else before
        return Told(paired, used, weights, masses, even, before, after, uneven)

    def shift_of(self, linear: Linearised, tone: int, mode: int | None) -> float:
        """Return the shift of ``ln f`` of a tone that is taken for a mode; the mean one for a tone of none."""
        entry = self.tones[tone][0]
        if mode is None:
            return float(self.shifts[entry].tones.mean())
        return float(self.shifts[entry].tones[mode - _first(linear, self.states[entry])])

    def _counts(self, linear: Linearised, tone: int, pairing: Paired) -> bool:
        """Tell whether a tone helps to find the wood: its mode is sure, and not another than its number says."""
        if pairing.mode is None or not pairing.is_sure:
            return False
        entry, number, _ = self.tones[tone]
        shown = [n for n, s in zip(linear.names, linear.states, strict=True) if s == self.states[entry]]
        return number is None or number not in shown or linear.names[pairing.mode] == number

    def _heard(self) -> list[HeardTone]:
        """The tones as they go into the pairing; there each has the mean shift of all modes."""
        out = []
        for entry, number, hz in self.tones:
            shift = self.shifts[entry]
            spread = float(np.hypot(READING, shift.spread.mean()))
            log_hz = float(np.log(hz) + shift.tones.mean())
            out.append(HeardTone(log_hz, spread, entry, self.states[entry], number))
        return out

    def _seen(self, linear: Linearised, paired: Sequence[Paired], used: Ints) -> Seen:
        """The used tones as measurements of parameters and tones; the weather of one entry moves all its tones alike."""
        values, rows = np.zeros(len(used)), np.zeros((len(used), _Q + len(linear.names)))
        weather = np.zeros((len(used), len(self.entries)))
        for row, tone in enumerate(used):
            entry, _, hz = self.tones[tone]
            mode = paired[tone].mode
            assert mode is not None, "used tones are paired"
            values[row] = np.log(hz) + self.shift_of(linear, int(tone), mode)
            rows[row, _Q + mode] = 1.0
            weather[row, entry] = self.shifts[entry].spread[mode - _first(linear, self.states[entry])]
        return Seen(values, rows, READING**2 * np.eye(len(used)) + weather @ weather.T)

    def _masses(self, linear: Linearised, before: Belief) -> tuple[tuple[FittedMass, ...], Seen]:
        """The weighings, and those of them that can be this plate's as measurements."""
        found, values, rows, noise = [], [], [], []
        for entry, state, shift in zip(self.entries, self.states, self.shifts, strict=True):
            if entry.mass is None:
                continue
            slopes, constant = linear.log_mass(state)
            row = np.concatenate([slopes, np.zeros(len(linear.names))])
            law = before.part(row[None], np.array([constant]))
            spread = float(np.sqrt(law.covariance[0, 0] + SCALES**2 + shift.mass_spread**2))
            value = float(np.log(entry.mass) + shift.mass)
            is_used = abs(value - law.mean[0]) <= WRONG_MASS * spread
            low, middle, high = np.exp(
                law.mean[0] - shift.mass + TWO_SIDED_95 * spread * np.array([-1, 0, 1])
            )
            found.append(
                FittedMass(entry.name, entry.mass, float(np.exp(shift.mass)), middle, low, high, is_used)
            )
            if is_used:
                values.append(value - constant)
                rows.append(row)
                noise.append(SCALES**2 + shift.mass_spread**2)
        empty = np.zeros((0, _Q + len(linear.names)))
        return tuple(found), Seen(np.array(values), np.array(rows) if rows else empty, np.diag(noise))


def gathered(
    entries: Sequence[FitEntry],
    states: tuple[int, ...],
    plates: Sequence[PlateState],
    linear: Linearised,
    reference: Condition | None,
) -> Evidence:
    """Return the entries as evidence, with what the weather does to each, found where the states were first solved."""
    return Evidence(entries, states, tuple(_shifts(entries, states, plates, linear, reference)))


def _shifts(
    entries: Sequence[FitEntry],
    states: tuple[int, ...],
    plates: Sequence[PlateState],
    linear: Linearised,
    reference: Condition | None,
) -> Iterator[WeatherShift]:
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


def _unevenness(linear: Linearised, prior: Floats, apart: Apart, seen: Seen) -> float:
    """Return the unevenness of the wood that makes what was seen the most probable, even wood being likeliest before."""
    logs = [
        seen.evidence(linear.belief(prior, apart.with_unevenness(spread))) - spread / USUAL_UNEVENNESS
        for spread in UNEVENNESSES
    ]
    return float(UNEVENNESSES[int(np.argmax(logs))])


def _expected(linear: Linearised, belief: Belief) -> Expected:
    return Expected(belief.mean[_Q:], belief.covariance[_Q:, _Q:], linear.names, linear.states)


def _first(linear: Linearised, state: int) -> int:
    """Place of the first tone of a state among all."""
    return int(np.argmax(linear.states == state))
