"""What the log tells of a plate: tones brought to one climate and paired with modes, masses, and which of them count."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from solver.advice.fit_entry import FitEntry, WeatherShift, weather_shifts
from solver.advice.fit_states import Apart, Linearised, PlateState
from solver.advice.joint_belief import Belief, Seen, side_by_side, tempered
from solver.advice.pairing import Expected, HeardTone, Paired, weighed_pairs
from solver.core.arrays import Floats, Ints
from solver.plate.climate import Condition
from solver.plate.plate_doubt import READING, SCALES
from solver.plate.wood_posterior import PARAMETERS, TWO_SIDED_95

WRONG_MASS = 4.0
"""Standard deviations by which a mass may differ from volume times density before it is set aside."""
USUAL_UNEVENNESS = 0.005
"""Of single tones because density and stiffness are not the same all over a board: the mean residual of three spruce plates
measured by Badiane et al. is 0.6 to 1.9 % (see the validation), of which half a per cent is reading."""
UNEVENNESSES = 0.001 * np.array([0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 13.0, 16.0, 20.0])
_Q = len(PARAMETERS)


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
class Told:
    """What the log told in one step: where each tone was put, which are ``used`` with which ``weights`` (u,), the
    masses; what was ``before`` and is ``after`` believed of parameters and tones, and the measurements that made the
    difference.

    The first rows of ``seen`` are the used masses, then come the used tones; ``uneven`` [-] is by how much each tone is off
    because the wood is not the same everywhere; ``apart`` (m, m) is the covariance of what moves tones besides the
    parameters; ``score`` the logarithm of how probable all tones are, paired so.
    """

    paired: tuple[Paired, ...]
    used: Ints
    weights: Floats
    masses: tuple[FittedMass, ...]
    seen: Seen
    before: Belief
    after: Belief
    uneven: float
    apart: Floats
    score: float

    def misfit(self, prior: Floats, linear: Linearised, followed: Ints, theta: Floats) -> float:
        """Return minus twice the logarithm of how probable parameters ``theta`` (q,) are, but for a constant.

        The tones are those of ``linear``, where those of now have the places ``followed`` (m,); what was paired, and how
        far each tone is trusted, stays.
        """
        off, spread = self._off((linear.constant + linear.slopes @ theta)[followed], theta)
        return float(theta @ np.linalg.pinv(prior) @ theta + off @ np.linalg.solve(spread, off))

    def held_at(self, linear: Linearised, theta: Floats) -> "Told":
        """Return the same with the parameters taken for ``theta`` (q,), tones expected as the model misses them there."""
        logs = linear.constant + linear.slopes @ theta
        off, spread = self._off(logs, theta)
        tones = logs + self.apart @ self.seen.rows[:, _Q:].T @ np.linalg.solve(spread, off)
        return replace(self, after=Belief(np.concatenate([theta, tones]), self.after.covariance))

    def _off(self, logs: Floats, theta: Floats) -> tuple[Floats, Floats]:
        """Return how far (r,) parameters and tones ``logs`` (m,) are from what was seen, and its covariance (r, r)."""
        by_mode = self.seen.rows[:, _Q:]
        spread = by_mode @ self.apart @ by_mode.T + self.seen.noise
        return self.seen.values - self.seen.rows[:, :_Q] @ theta - by_mode @ logs, spread


@dataclass(frozen=True, eq=False)
class _Pairs:
    """Where each tone was put, which are ``used``, how uneven the wood then is; the rest as in `Told`."""

    paired: tuple[Paired, ...]
    used: Ints
    uneven: float
    score: float


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

    def told_as_before(
        self, before: Told, linear: Linearised, prior: Floats, apart: Apart, aside: Collection[int]
    ) -> Told:
        """Return the same with tones paired as ``before``, whatever is likelier now, those ``aside`` no longer used."""
        moved = [_moved_on(pairing, linear.followed) for pairing in before.paired]
        paired = tuple(replace(p, probability=0.5) if t in aside else p for t, p in enumerate(moved))
        used = np.array([t for t in before.used.tolist() if t not in aside], dtype=np.int64)
        return self._believed(linear, prior, apart, _Pairs(paired, used, before.uneven, before.score))

    def _told_if(self, linear: Linearised, prior: Floats, apart: Apart, uneven: float) -> Told:
        before = linear.belief(prior, apart.with_unevenness(uneven))
        _, weighed = self._masses(linear, before)
        heavy = before.given(weighed) if len(weighed.values) else before
        paired, score = weighed_pairs(_expected(linear, heavy), self._heard())
        used = np.array([t for t, p in enumerate(paired) if self._counts(linear, t, p)], dtype=np.int64)
        return self._believed(linear, prior, apart, _Pairs(paired, used, uneven, score))

    def _believed(self, linear: Linearised, prior: Floats, apart: Apart, pairs: _Pairs) -> Told:
        covariance = apart.with_unevenness(pairs.uneven)
        before = linear.belief(prior, covariance)
        masses, weighed = self._masses(linear, before)
        heard = self._seen(linear, pairs.paired, pairs.used)
        both = Seen(
            np.concatenate([weighed.values, heard.values]),
            np.vstack([weighed.rows, heard.rows]),
            side_by_side([weighed.noise, heard.noise]),
        )
        first = len(weighed.values)
        even = tempered(before, both, np.arange(first, len(both.values)))
        weights = np.diag(both.noise)[first:] / np.diag(even.noise)[first:]
        after = before.given(even) if len(even.values) else before
        return Told(
            pairs.paired,
            pairs.used,
            weights,
            masses,
            even,
            before,
            after,
            pairs.uneven,
            covariance,
            pairs.score,
        )

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
        here = zip(linear.parts, linear.states, strict=True)
        shown = {name for part, state in here if state == self.states[entry] for name in part}
        return number is None or number not in shown or number in linear.parts[pairing.mode]

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
    return Evidence(entries, states, tuple(weather_shifts(entries, states, plates, linear, reference)))


def _unevenness(linear: Linearised, prior: Floats, apart: Apart, seen: Seen) -> float:
    """Return the unevenness of the wood that makes what was seen the most probable, even wood being likeliest before."""
    logs = [
        seen.evidence(linear.belief(prior, apart.with_unevenness(spread))) - spread / USUAL_UNEVENNESS
        for spread in UNEVENNESSES
    ]
    return float(UNEVENNESSES[int(np.argmax(logs))])


def _moved_on(pairing: Paired, followed: Ints) -> Paired:
    """Return a pairing with its modes' places among those ``followed`` to where the plate is solved now."""
    mode, other = (None if m is None else int(followed[m]) for m in (pairing.mode, pairing.other))
    return replace(pairing, mode=mode, other=other)


def _expected(linear: Linearised, belief: Belief) -> Expected:
    return Expected(belief.mean[_Q:], belief.covariance[_Q:, _Q:], linear.parts, linear.states)


def _first(linear: Linearised, state: int) -> int:
    """Place of the first tone of a state among all."""
    return int(np.argmax(linear.states == state))
