"""Where a mode stands still, where to hold the plate for it and where to tap it."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from solver.core.arrays import Bools, Floats, Ints, freeze
from solver.modal.modes import Modes

_LEAST_LENGTH = 0.004
_FROM_RIM = 0.006


@dataclass(frozen=True, eq=False)
class HoldAndTap:
    """``hold`` (h, 2) [m] two places on the node line that lie well apart, ``tap`` (2,) [m] the largest motion."""

    hold: Floats
    tap: Floats

    def __post_init__(self) -> None:
        freeze(self, hold=((None, 2), float), tap=((2,), float))


def node_lines(modes: Modes, index: int) -> tuple[Floats, ...]:
    """Return the node lines of a mode as polylines (p, 2) [m] in plan, the longest first.

    The zero of the normal motion, linear on each of the nine flat triangles of an element. A closed line repeats its
    first point. Specks shorter than 4 mm are left out.
    """
    return lines_of_motion(modes, modes.normal_motion[index])


def lines_of_motion(modes: Modes, motion: Floats) -> tuple[Floats, ...]:
    """Return lines [m] as of `node_lines` for any normal ``motion`` (n,) of the points of ``modes``."""
    lines = zero_lines(modes.points[:, :2], modes.triangles, motion)
    kept = [line for line in lines if _length(line) > _LEAST_LENGTH]
    return tuple(sorted(kept, key=_length, reverse=True))


def zero_lines(points: Floats, triangles: Ints, values: Floats) -> list[Floats]:
    """Return the polylines along which ``values`` (n,) at ``points`` (n, 2) change sign, linear on the triangles."""
    positive = values > 0
    crossed = triangles[positive[triangles].any(axis=1) & ~positive[triangles].all(axis=1)]
    ends = _crossed_edges(crossed, positive)
    edges, number = np.unique(ends.reshape(-1, 2), axis=0, return_inverse=True)
    a, b = values[edges[:, 0]], values[edges[:, 1]]
    places = points[edges[:, 0]] + (a / (a - b))[:, None] * (points[edges[:, 1]] - points[edges[:, 0]])
    return [places[chain] for chain in _chains(number.reshape(-1, 2), len(places))]


def hold_and_tap(modes: Modes, index: int) -> HoldAndTap:
    """Return where to hold the plate between two fingers and where to tap it so that this mode sounds.

    Common practice, no source: held on a node line, tapped where it moves most. Of the places on the node lines two are
    taken that lie far from the tap and from each other. Nothing nearer to an edge or a sound hole than 6 mm is taken
    where the plate leaves a choice: there a finger has no hold and a knuckle does harm.
    """
    points, motion = modes.points[:, :2], np.abs(modes.normal_motion[index])
    rim = cKDTree(points[_rim(modes.triangles)])
    inside = rim.query(points)[0] >= _FROM_RIM
    tap = points[np.where(inside, motion, 0.0).argmax()]
    lines = node_lines(modes, index)
    if not lines:
        return HoldAndTap(np.zeros((0, 2)), tap)
    places = np.vstack(lines)
    inner = places[rim.query(places)[0] >= _FROM_RIM]
    places = inner if len(inner) else places
    from_tap = np.linalg.norm(places - tap, axis=1)
    first = places[from_tap.argmax()]
    second = places[np.minimum(np.linalg.norm(places - first, axis=1), from_tap).argmax()]
    return HoldAndTap(np.array([first, second]), tap)


def _rim(triangles: Ints) -> Ints:
    """Numbers of the points on sides that belong to one triangle only: the edge and the holes."""
    sides = np.sort(
        np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1
    )
    found, times = np.unique(sides, axis=0, return_counts=True)
    return np.unique(found[times == 1])


def _length(line: Floats) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


def _crossed_edges(triangles: Ints, positive: Bools) -> Ints:
    """The two edges (t, 2, 2) of each triangle on which the sign changes, each with its lower node first."""
    pairs = np.sort(
        np.stack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]], axis=1), axis=2
    )
    return np.asarray(pairs[positive[pairs[..., 0]] != positive[pairs[..., 1]]].reshape(-1, 2, 2))


def _chains(links: Ints, count: int) -> list[list[int]]:
    """Join links between numbered places, each place in at most two of them, to open and closed chains."""
    neighbours: list[list[int]] = [[] for _ in range(count)]
    for a, b in links.tolist():
        neighbours[a].append(b)
        neighbours[b].append(a)
    left = set(range(count))
    chains = []
    starts = [i for i in range(count) if len(neighbours[i]) == 1] + list(range(count))
    for start in starts:
        if start not in left:
            continue
        chain = [start]
        left.discard(start)
        while step := [n for n in neighbours[chain[-1]] if n in left]:
            chain.append(step[0])
            left.discard(step[0])
        if len(chain) > 2 and start in neighbours[chain[-1]]:
            chain.append(start)
        chains.append(chain)
    return chains
