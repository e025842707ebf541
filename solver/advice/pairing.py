"""Which tone is which mode: the pairings that what is known of the plate allows, weighed against each other.

Before the wood is found every tone may be a tenth off, but all of them are off together: who knows one knows more of
the next. So whole pairings are compared, by how probable their tones are together (many hypotheses carried along and
the likeliest kept: D. B. Reid, IEEE Trans. Automat. Control 24 (1979) 843; from memory). A number that the maker has
given holds unless the tones speak against it; any tone may be of no mode. Each mode has one tone of an entry at most.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from solver.core.arrays import Floats, Ints, freeze

NUMBER_HOLDS = 0.96
WRONG_NUMBER, NO_MODE = 0.02, 0.02
"""How often a number is right, is another mode's, or the tone is none at all (common practice, no source)."""
HEARD_NO_MODE = 0.05
"""The same of a tone that was heard and not numbered."""
ANYWHERE = 1 / np.log(1000 / 20)
"""Density of ``ln f`` of a tone that is none of the plate's: from 20 to 1000 Hz alike."""
PASSED_OVER = np.log(0.75 / 0.25)
"""A mode is heard three times out of four: each one that gets a tone makes a pairing so much likelier (no source)."""
TAIL = 8.0
"""Degrees of freedom of the law (Student's) by which tones scatter: wood is not the same all over a plate, so that now and
then a tone lies two per cent off what one wood makes of it (see the measured plates in the validation)."""
SURE = 0.8
"""A pairing in doubt below this probability."""
_KEPT = 300
_TRACE = 0.01


@dataclass(frozen=True, eq=False)
class Expected:
    """What is expected of m tones: mean (m,) and covariance (m, m) of ``ln f``.

    ``parts`` are the numbers of the trade in whose patterns each tone has part, with that part: two tones that share the
    ring both have part in 5. ``state`` (m,) numbers the states of the plate that they belong to, if there are several.
    """

    mean: Floats
    covariance: Floats
    parts: tuple[Mapping[str, float], ...]
    state: Ints

    def __post_init__(self) -> None:
        m = len(self.mean)
        freeze(self, mean=((m,), float), covariance=((m, m), float), state=((m,), int))


@dataclass(frozen=True)
class HeardTone:
    """A tone ``ln f`` with its standard deviation, of one ``entry`` of the log on one ``state`` of the plate.

    ``no_mode`` is the chance that it is none of the plate's modes, where it bears no number.
    """

    log_hz: float
    spread: float
    entry: int
    state: int
    number: str | None = None
    no_mode: float = HEARD_NO_MODE


@dataclass(frozen=True)
class Paired:
    """Where a tone belongs: the index of its mode among those expected, or None; and the next best with its probability.

    ``other`` is the next best mode, and None if there is none but that the tone is of no mode at all.
    """

    mode: int | None
    probability: float
    other: int | None
    other_probability: float

    @property
    def is_sure(self) -> bool:
        """Tell whether the tones leave no doubt which mode it is, or that it is none.

        A tone that is a mode or else none needs no doubt: if it stands off, it counts for less.
        """
        if self.mode is not None and self.other is None:
            return self.probability >= 0.5
        return self.probability >= SURE * (self.probability + self.other_probability)


def pair_tones(expected: Expected, tones: Sequence[HeardTone]) -> tuple[Paired, ...]:
    """Return for each tone the mode that it has in the likeliest pairing of all of them."""
    return weighed_pairs(expected, tones)[0]


def weighed_pairs(expected: Expected, tones: Sequence[HeardTone]) -> tuple[tuple[Paired, ...], float]:
    """Return what `pair_tones` does, and the logarithm of how probable all tones are in that pairing."""
    order = sorted(
        range(len(tones)), key=lambda t: (tones[t].entry, tones[t].number is None, tones[t].log_hz)
    )
    beam = _Beam.start(expected)
    for t in order:
        beam = beam.with_tone(expected, tones[t])
    weights = np.exp(beam.scores - beam.scores.max())
    weights /= weights.sum()
    choices = np.empty_like(beam.choices)
    choices[:, order] = beam.choices
    best = int(beam.scores.argmax())
    return tuple(_summed_up(choices[:, t], weights, best) for t in range(len(tones))), float(
        beam.scores[best]
    )


def _summed_up(choices: Ints, weights: Floats, best: int) -> Paired:
    """Sum the probabilities of the pairings by where they put one tone."""
    total = {int(choice): float(weights[choices == choice].sum()) for choice in np.unique(choices)}
    chosen = int(choices[best])
    probability = total.pop(chosen)
    other = max(
        total,
        key=lambda choice: (choice != _NOWHERE and total[choice] > _TRACE, total[choice]),
        default=_NOWHERE,
    )
    return Paired(_mode(chosen), probability, _mode(other), total.get(other, 0.0))


_NOWHERE = -1


def _mode(choice: int) -> int | None:
    return None if choice == _NOWHERE else choice


@dataclass(frozen=True, eq=False)
class _Beam:
    """The b likeliest pairings so far: their ``choices`` (b, t), ``scores`` (b,), and what they make expected."""

    choices: Ints
    scores: Floats
    mean: Floats
    covariance: Floats
    used: Ints

    @staticmethod
    def start(expected: Expected) -> "_Beam":
        m = len(expected.mean)
        return _Beam(
            np.empty((1, 0), np.int64),
            np.zeros(1),
            expected.mean[None].copy(),
            expected.covariance[None].copy(),
            np.full((1, m), -1),
        )

    def with_tone(self, expected: Expected, tone: HeardTone) -> "_Beam":
        """Return the likeliest pairings with one more tone; ``used`` (b, m) is the entry that last took each mode."""
        m = len(expected.mean)
        spread = np.einsum("bmm->bm", self.covariance) + tone.spread**2
        miss = tone.log_hz - self.mean
        fit = student.logpdf(miss / np.sqrt(spread), TAIL) - 0.5 * np.log(spread) + _chances(expected, tone)
        taken = (self.used == tone.entry) | (expected.state != tone.state)
        nowhere = np.log(tone.no_mode if _open(expected, tone) else NO_MODE) + np.log(ANYWHERE)
        scores = self.scores[:, None] + np.column_stack(
            [np.where(taken, -np.inf, fit + PASSED_OVER), np.full(len(self.scores), nowhere)]
        )
        best = np.argsort(-scores, axis=None, kind="stable")[:_KEPT]
        best = best[np.isfinite(scores.ravel()[best])]
        parent, choice = np.divmod(best, m + 1)
        return self._taken_on(parent, np.where(choice == m, _NOWHERE, choice), scores.ravel()[best], tone)

    def _taken_on(self, parent: Ints, choice: Ints, scores: Floats, tone: HeardTone) -> "_Beam":
        """Carry each pairing on by its choice: the mode's tone is now known, and with it more of the others."""
        mean, covariance, used = self.mean[parent], self.covariance[parent], self.used[parent].copy()
        some = np.flatnonzero(choice != _NOWHERE)
        at = choice[some]
        used[some, at] = tone.entry
        column = covariance[some, :, at]
        spread = column[np.arange(len(some)), at] + tone.spread**2
        miss = tone.log_hz - mean[some, at]
        # a tone in the tail of the law tells so much less
        spread *= np.maximum(1.0, (TAIL + miss**2 / spread) / (TAIL + 1))
        gain = column / spread[:, None]
        mean[some] += gain * miss[:, None]
        covariance[some] -= gain[:, :, None] * column[:, None, :]
        return _Beam(np.column_stack([self.choices[parent], choice]), scores, mean, covariance, used)


def _open(expected: Expected, tone: HeardTone) -> bool:
    """Tell whether a tone has no number that the plate shows, so that any mode may be its own."""
    return tone.number is None or not _own(expected, tone).any()


def _own(expected: Expected, tone: HeardTone) -> Floats:
    """Return which part (m,) each tone of a state has in the pattern of the number that a tone was given."""
    parts = np.array([part.get(tone.number or "", 0.0) for part in expected.parts])
    own = np.where(expected.state == tone.state, parts, 0.0)
    return np.asarray(own / max(own.sum(), 1e-30))


def _chances(expected: Expected, tone: HeardTone) -> Floats:
    """Return the logarithm (m,) of the chance that a tone is meant for each mode, before its pitch is looked at."""
    modes = int((expected.state == tone.state).sum())
    if tone.number is None:
        return np.full(len(expected.mean), np.log((1 - tone.no_mode) / modes))
    if _open(expected, tone):  # then it is one of those that show no number
        nameless = np.array([not part for part in expected.parts])
        holds = NUMBER_HOLDS / max(int((nameless & (expected.state == tone.state)).sum()), 1)
        return np.asarray(np.where(nameless, np.log(holds), np.log(WRONG_NUMBER / modes)))
    own = _own(expected, tone)
    other = np.log(WRONG_NUMBER / max(modes - int((own > 0).sum()), 1))
    return np.asarray(np.where(own > 0, np.log(NUMBER_HOLDS * np.maximum(own, 1e-30)), other))
