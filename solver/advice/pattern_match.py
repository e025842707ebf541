"""Which computed mode a powder pattern shows, and how far its lines lie from the computed ones.

Lines are compared by distance: every point of a seen line to the nearest computed line, and the other way round, so that it
does not matter how a line was cut into pieces. What a hand hides counts for neither.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from solver.core.arrays import Bools, Floats, freeze
from solver.core.units import MM
from solver.measured.powder_photo import PlateView
from solver.modal.modes import Modes
from solver.modal.node_lines import node_lines

CANDIDATES = 16
"""Tones among which a pattern is looked for."""

ALIKE = 0.5
"""Least score of a pattern that is one of the plate's."""

CLEAR = 0.08
"""Lead in score by which a mode is told from the next."""

_STEP = 1.0 * MM
_NEAR = 0.022
"""Distance at which two lines are half alike, as a share of the square root of the plate's area: 5 mm on a violin."""

_PLAYED = 0.18
"""How far the computed tone and the played one may be apart, as a natural logarithm: the wood is not known better."""


@dataclass(frozen=True, eq=False)
class LinePair:
    """The seen and the computed lines of one mode as points (s, 2) and (c, 2) [m], and how far each lies from the others.

    ``computed`` are only those that the photo could show.
    """

    seen: Floats
    computed: Floats
    from_seen: Floats
    from_computed: Floats

    def __post_init__(self) -> None:
        freeze(
            self,
            seen=((None, 2), float),
            computed=((None, 2), float),
            from_seen=((len(self.seen),), float),
            from_computed=((len(self.computed),), float),
        )

    @property
    def _distances(self) -> Floats:
        """Both ways, each way with the same weight."""
        count = max(len(self.seen), len(self.computed))
        return np.concatenate([_stretched(self.from_seen, count), _stretched(self.from_computed, count)])

    @property
    def median(self) -> float:
        """Half of the lines lie nearer [m] to each other than this."""
        return float(np.median(self._distances))

    @property
    def nine_tenths(self) -> float:
        """Nine tenths of the lines lie nearer [m] to each other than this."""
        return float(np.quantile(self._distances, 0.9))


@dataclass(frozen=True, eq=False)
class ModeScore:
    """How well the pattern fits the tone at place ``index``: ``score`` 1 for the same lines, 0 for none in common."""

    index: int
    score: float
    pair: LinePair


@dataclass(frozen=True, eq=False)
class PatternMatch:
    """A pattern held against all tones; ``view`` is the way to lay the plate flat that fits best.

    ``scores`` (k,) in order of frequency; ``best`` the mode that is taken, ``clearest`` the one that the lines alone name;
    ``other_side`` the score of ``best`` with the plate turned over, None where the edge tells the sides apart.
    """

    view: PlateView
    scores: tuple[ModeScore, ...]
    best: ModeScore
    clearest: ModeScore
    other_side: float | None

    @property
    def next_best(self) -> ModeScore | None:
        """The mode that the lines fit best after ``best``."""
        others = [score for score in self.scores if score.index != self.best.index]
        return max(others, key=lambda score: score.score, default=None)

    @property
    def margin(self) -> float:
        """Lead in score over the next; below nought where another fits better."""
        return self.best.score - (self.next_best.score if self.next_best else 0.0)


def match_pattern(
    modes: Modes, views: Sequence[PlateView], size: float, hz: float | None = None, index: int | None = None
) -> PatternMatch:
    """Return how a pattern fits each of the first tones, whichever way the plate lay.

    ``size`` [m] is the square root of the plate's area. ``hz`` is what was played: tones far from it count less. ``index``
    is the tone that the maker says it is, which is then taken.
    """
    computed = _computed(modes)
    trials = [(view, _scores(computed, view.lines, size, view.shows)) for view in views]
    weights = _weights(modes, hz, index)

    def taken(scores: Sequence[ModeScore]) -> ModeScore:
        return max(scores, key=lambda score: score.score * weights[score.index])

    view, scores = max(trials, key=lambda trial: taken(trial[1]).score * weights[taken(trial[1]).index])
    best = taken(scores)
    turned = [other[best.index].score for seen, other in trials if seen.inside != view.inside]
    clearest = max((score for _, other in trials for score in other), key=lambda score: score.score)
    return PatternMatch(view, scores, best, clearest, max(turned, default=None))


def points_along(lines: Sequence[Floats], step: float = _STEP) -> Floats:
    """Return points (n, 2) [m] evenly along polylines."""
    found = [np.empty((0, 2))]
    for line in lines:
        drawn = shapely.LineString(line)
        count = max(2, round(drawn.length / step))
        found.append(
            shapely.get_coordinates(drawn.interpolate((np.arange(count) + 0.5) / count, normalized=True))
        )
    return np.concatenate(found)


def pattern_scores(
    modes: Modes, lines: Sequence[Floats], size: float, shows: Callable[[Floats], Bools] | None = None
) -> tuple[ModeScore, ...]:
    """Return how well seen lines (p, 2) [m], as a file keeps them, fit each of the first tones.

    ``size`` [m] is the square root of the plate's area; ``shows`` tells at which points powder could be seen, everywhere if
    left out. The score is the harmonic mean of how much of the seen and of the computed lines has company.
    """
    return _scores(_computed(modes), lines, size, shows)


def _computed(modes: Modes) -> list[Floats]:
    return [points_along(node_lines(modes, index)) for index in range(min(len(modes.hz), CANDIDATES))]


def _scores(
    computed: Sequence[Floats],
    lines: Sequence[Floats],
    size: float,
    shows: Callable[[Floats], Bools] | None,
) -> tuple[ModeScore, ...]:
    seen = points_along(lines)
    return tuple(
        _score(index, seen, points if shows is None else points[shows(points)], size)
        for index, points in enumerate(computed)
    )


def _score(index: int, seen: Floats, computed: Floats, size: float) -> ModeScore:
    if len(seen) == 0 or len(computed) == 0:
        far = LinePair(seen, computed, np.full(len(seen), np.inf), np.full(len(computed), np.inf))
        return ModeScore(index, 0.0, far)
    from_seen, from_computed = cKDTree(computed).query(seen)[0], cKDTree(seen).query(computed)[0]
    pair = LinePair(seen, computed, np.asarray(from_seen), np.asarray(from_computed))
    ways = [
        float((1 / (1 + (way / (_NEAR * size)) ** 2)).mean()) for way in (pair.from_seen, pair.from_computed)
    ]
    return ModeScore(index, 2 * ways[0] * ways[1] / (ways[0] + ways[1]), pair)


def _weights(modes: Modes, hz: float | None, index: int | None) -> Floats:
    """Return how much each tone is to be expected (k,)."""
    if index is not None:
        return np.asarray(np.arange(len(modes.hz)) == index, np.float64)
    if hz is None:
        return np.ones(len(modes.hz))
    return np.asarray(np.exp(-0.5 * (np.log(modes.hz / hz) / _PLAYED) ** 2))


def _stretched(values: Floats, count: int) -> Floats:
    """Return values (n,) repeated evenly to ``count`` of them."""
    return values[np.arange(count) * len(values) // max(count, 1)] if len(values) else values
