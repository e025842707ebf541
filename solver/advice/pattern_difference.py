"""How a seen powder pattern differs from the computed one: how evenly it lies, where lines part or powder is missing."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import label
from scipy.spatial import cKDTree

from solver.advice.pattern_match import LinePair, PatternMatch
from solver.core.arrays import Bools, Floats, Ints, freeze
from solver.core.units import MM

PARTED = 3.0 * MM
"""Lines nearer than this lie as near as powder tells."""

_MISSING = 12.0 * MM
_LEAST_RUN = 12
_LEAST_MISSING = 25
_MOST_NAMED = 3
_JOINED = 6.0 * MM
_FARTHEST_SHIFT = 20.0 * MM
_SHIFT_STEP = 0.5 * MM
_UNLIKE = 8.0 * MM
"""A point farther than this from the mirror image is of another line, and says nothing about the middle."""

_LEAST_PAIRED = 0.3


@dataclass(frozen=True, eq=False)
class Parting:
    """A stretch where lines part: ``place`` (2,) [m] of the seen line, ``off`` (2,) [m] from the computed line to it."""

    place: Floats
    off: Floats

    def __post_init__(self) -> None:
        freeze(self, place=((2,), float), off=((2,), float))

    @property
    def distance(self) -> float:
        """How far [m] the lines lie from each other there."""
        return float(np.linalg.norm(self.off))


@dataclass(frozen=True, eq=False)
class PatternDifference:
    """What tells the seen pattern of a mode from the computed one.

    ``seen_middle`` and ``computed_middle`` [m] are the y about which each is most nearly its own mirror image, nan where
    it is like its image about no line; ``shift`` (2,) [m] brings the computed lines as a whole nearest to the seen ones;
    ``partings`` the widest first; ``missing`` (m, 2) [m] places on computed lines along which no powder lies.
    """

    seen_middle: float
    computed_middle: float
    shift: Floats
    partings: tuple[Parting, ...]
    missing: Floats

    def __post_init__(self) -> None:
        freeze(self, shift=((2,), float), missing=((None, 2), float))


def pattern_difference(match: PatternMatch) -> PatternDifference:
    """Return how the pattern differs from the mode that was taken."""
    pair, shows = match.best.pair, match.view.shows
    return PatternDifference(
        _middle(pair.seen, shows),
        _middle(pair.computed, shows),
        _shift(pair),
        _partings(pair),
        _missing(pair),
    )


def _middle(points: Floats, shows: Callable[[Floats], Bools]) -> float:
    """Return the y [m] about which points (n, 2) are most nearly their own mirror image; nan where they are not."""
    shifts = np.arange(-_FARTHEST_SHIFT, _FARTHEST_SHIFT + 0.5 * _SHIFT_STEP, _SHIFT_STEP)
    tree = cKDTree(points)
    costs, shares = np.empty(len(shifts)), np.empty(len(shifts))
    for place, middle in enumerate(shifts):
        image = np.column_stack([points[:, 0], 2 * middle - points[:, 1]])
        image = image[shows(image)]
        off = np.asarray(tree.query(image)[0]) if len(image) else np.array([np.inf])
        costs[place] = np.minimum(off, _UNLIKE).mean()
        shares[place] = (off < _UNLIKE).mean()
    best = int(costs.argmin())
    if shares[best] < _LEAST_PAIRED or best in (0, len(shifts) - 1):
        return float("nan")
    return float(shifts[best] + _SHIFT_STEP * _vertex(costs[best - 1 : best + 2]))


def _vertex(costs: Floats) -> float:
    """Return where a parabola through three neighbouring costs is lowest, in steps from the middle one."""
    bend = costs[0] - 2 * costs[1] + costs[2]
    return float(0.5 * (costs[0] - costs[2]) / bend) if bend > 0 else 0.0


def _shift(pair: LinePair) -> Floats:
    """Return what brings the computed lines as a whole nearest to the seen ones: Gauss-Newton on the distances across them.

    Each seen point asks to be met along its offset from the nearest computed point; far ones are left out.
    """
    shift = np.zeros(2)
    tree = cKDTree(pair.computed)
    for _ in range(10):
        off, near = (np.asarray(found) for found in tree.query(pair.seen - shift))
        use = (off < 2 * _UNLIKE) & (off > 1e-6)
        if use.sum() < _LEAST_RUN:
            break
        vector = (pair.seen - shift - pair.computed[near])[use]
        across = vector / off[use, None]
        weight = (1 / (1 + (off[use] / PARTED) ** 2))[:, None]
        normal = (weight * across).T @ across + 1e-3 * len(across) * np.eye(2)
        step = np.linalg.solve(normal, (weight * vector).sum(axis=0))
        shift = shift + step
        if np.linalg.norm(step) < 0.01 * MM:
            break
    return np.asarray(shift)


def _partings(pair: LinePair) -> tuple[Parting, ...]:
    """Return the stretches of seen line that part from the computed one, each at its widest place."""
    near = np.asarray(cKDTree(pair.computed).query(pair.seen)[1])
    found = []
    for run in _runs(pair.seen, (pair.from_seen > PARTED) & (pair.from_seen < 4 * _MISSING), _LEAST_RUN):
        # the widest place but for the last few points, where a line may run out
        widest = run[np.argsort(pair.from_seen[run])[int(0.85 * len(run))]]
        found.append(Parting(pair.seen[widest], pair.seen[widest] - pair.computed[near[widest]]))
    return tuple(sorted(found, key=lambda parting: -parting.distance)[:_MOST_NAMED])


def _missing(pair: LinePair) -> Floats:
    """Return the middles of stretches of computed line along which no powder lies, the longest first."""
    runs = _runs(pair.computed, pair.from_computed > _MISSING, _LEAST_MISSING)
    middles = [pair.computed[run[len(run) // 2]] for run in sorted(runs, key=len, reverse=True)[:_MOST_NAMED]]
    return np.array(middles).reshape(-1, 2)


def _runs(points: Floats, chosen: Bools, least: int) -> list[Ints]:
    """Return the numbers of chosen points in a row, in order along their line, ``least`` or more of them."""
    follows = np.r_[False, np.linalg.norm(np.diff(points, axis=0), axis=1) < _JOINED]
    marks = np.zeros(2 * len(points), bool)
    marks[1::2] = chosen
    marks[2::2] = chosen[1:] & chosen[:-1] & follows[1:]
    parts, count = label(marks)
    runs: list[Ints] = [np.flatnonzero(parts[1::2] == number) for number in range(1, count + 1)]
    return [run for run in runs if len(run) >= least]
