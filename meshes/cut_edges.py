"""The edges of a plate cut into curved pieces for the mesh, none of which crosses another.

Each piece is the parabola through both its ends and the middle of its stretch of the edge. It may leave the edge by 0.2 mm:
what is finer, such as the tremor of a traced line, is too small for sound and would only cost elements.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from meshes.edge import Edge
from meshes.edge_sizes import Sampled, sample, wished_sizes
from meshes.outline_checks import at_place
from meshes.steadied_edge import TREMOR
from solver.core.arrays import Bools, Floats, Ints
from solver.core.errors import InputError
from solver.core.units import MM

TOLERANCE = TREMOR
_MOST_TURN = np.radians(100.0)
_SHORTEST = 0.25 * MM
_ROUNDS = 8
_INSIDE = np.arange(1, 16) / 16
_WORTH_SAYING, _SMOOTH_CROSSINGS = 0.04 * MM, 3


@dataclass(frozen=True, eq=False)
class Ring:
    """One closed edge cut at ``marks`` (n,) (arc lengths [m]): ``points`` (n, 2) there, ``middles`` (n, 2) between [m]."""

    edge: Edge
    marks: Floats
    points: Floats
    middles: Floats

    @property
    def lengths(self) -> Floats:
        """Arc lengths (n,) [m] of the pieces."""
        return np.diff(self.marks, append=self.marks[0] + self.edge.length)

    def along(self, fractions: Floats) -> Floats:
        """Points (n, k, 2) [m] of the edge itself at fractions (k,) of the way along each piece."""
        s = self.marks[:, None] + self.lengths[:, None] * fractions
        return self.edge.at(s.ravel()).reshape(len(self.marks), len(fractions), 2)

    def parabolas(self, fractions: Floats) -> Floats:
        """Points (n, k, 2) [m] of the pieces at fractions (k,)."""
        f = fractions[:, None]
        start, middle, end = (
            p[:, None] for p in (self.points, self.middles, np.roll(self.points, -1, axis=0))
        )
        return np.asarray(start * (1 - f) * (1 - 2 * f) + middle * 4 * f * (1 - f) + end * f * (2 * f - 1))

    def parted(self, pieces: Ints, fractions: Floats | None = None) -> "Ring":
        """Return the ring with these pieces cut once more, at the fractions given or half-way."""
        share = np.full(len(pieces), 0.5) if fractions is None else fractions
        return cut_at(self.edge, np.append(self.marks, self.marks[pieces] + share * self.lengths[pieces]))


def cut_at(edge: Edge, marks: Floats) -> Ring:
    """Return the edge cut at these arc lengths [m], in any order."""
    marks = np.unique(np.round(marks % edge.length, 12))
    following = np.append(marks[1:], marks[0] + edge.length)
    return Ring(edge, marks, edge.at(marks), edge.at(0.5 * (marks + following)))


def cut_edges(
    edges: Sequence[Edge], strip: Floats | None, size: float, least: float, rim: float
) -> list[Ring]:
    """Return the edges, the outer one first, cut to suit their turns and the wood between them.

    Pieces are ``size`` [m] at most (along the outer edge ``rim``) and ``least`` where a turn or a narrow place asks for
    it, shorter only where they would else leave the edge by more than 0.2 mm or meet another piece.

    Raises
    ------
    InputError
        If an edge cannot be kept clear of itself or another even by the finest cuts.
    """
    sampled = sample(edges)
    wishes = wished_sizes(sampled, strip, size, least, rim)
    rings = [_near_enough(_cut(e, wish)) for e, wish in zip(sampled, wishes, strict=True)]
    return _apart(rings, strip)


def part_pieces(rings: list[Ring], pieces: Bools, strip: Floats | None) -> list[Ring]:
    """Return the rings with these pieces (of all rings, in order) cut in two, and clear of each other as before."""
    return _apart(_parted(rings, pieces), strip)


def ring_starts(rings: Sequence[Ring]) -> list[tuple[int, int]]:
    """Number of each ring's first piece among all, and how many it has."""
    counts = [len(r.marks) for r in rings]
    return list(zip(np.cumsum([0, *counts[:-1]]).tolist(), counts, strict=True))


def smoothed_places(rings: Sequence[Ring]) -> list[tuple[str, float, Floats]]:
    """Return where detail is left out: the edge's name, by how much [m] and the place (2,) [m] where it is most."""
    found = []
    for ring in rings:
        if ring.edge.traced is not None:
            most = int(ring.edge.moved.argmax())
            found.append((ring.edge.name, float(ring.edge.moved[most]), ring.edge.knots[most]))
            continue
        away = np.where(_trembles(ring)[:, None], _deviations(ring), 0.0)
        piece, inside = np.unravel_index(int(away.argmax()), away.shape)
        if away[piece, inside] > _WORTH_SAYING:
            found.append((ring.edge.name, float(away[piece, inside]), ring.along(_INSIDE)[piece, inside]))
    return found


def _cut(sampled: Sampled, wish: Floats) -> Ring:
    """Cut at every corner, and between corners in steps in proportion to the wished size."""
    edge, stops = sampled.edge, sampled.stops
    count = np.concatenate([[0.0], np.cumsum(sampled.step / wish)])
    reach = np.append(sampled.s, edge.length)
    starts = stops if len(stops) else np.zeros(1)
    marks = []
    for start, stop in zip(starts, np.append(starts[1:], starts[0] + edge.length), strict=True):
        a = np.interp(start, reach, count)
        b = np.interp(stop % edge.length, reach, count) + (count[-1] if stop >= edge.length else 0.0)
        n = max(1 if len(stops) > 1 else 6, int(np.ceil(b - a - 0.3)))
        inside = np.linspace(a, b, n, endpoint=False)
        marks.append(np.interp(inside % count[-1], count, reach))
    return cut_at(edge, np.concatenate(marks))


def _near_enough(ring: Ring) -> Ring:
    """Cut pieces once more until none leaves its edge by more than the tolerance or turns too far for one element."""
    for _ in range(_ROUNDS):
        away = _deviations(ring)
        off = away.max(axis=1) > TOLERANCE
        bad = np.flatnonzero((off | (_turns(ring) > _MOST_TURN)) & (ring.lengths > 2 * _SHORTEST))
        if not len(bad):
            break
        worst = _INSIDE[away[bad].argmax(axis=1)]
        ring = ring.parted(bad, np.where(off[bad], np.clip(worst, 0.2, 0.8), 0.5))
    return ring


def _deviations(ring: Ring) -> Floats:
    """Distances (n, k) [m] from places along the edge to the piece that stands for it."""
    true = ring.along(_INSIDE)
    pieces = np.asarray(shapely.linestrings(ring.parabolas(np.linspace(0, 1, 17))))
    return np.asarray(shapely.distance(shapely.points(true), pieces[:, None]))


def _trembles(ring: Ring) -> Bools:
    """Tell along which pieces (n,) the edge goes to and fro across the parabola more often than a smooth curve can."""
    gap = ring.along(_INSIDE) - ring.parabolas(_INSIDE)
    chord = (np.roll(ring.points, -1, axis=0) - ring.points)[:, None]
    side = np.sign(chord[..., 0] * gap[..., 1] - chord[..., 1] * gap[..., 0])
    return np.asarray((np.diff(side, axis=1) != 0).sum(axis=1) > _SMOOTH_CROSSINGS)


def _turns(ring: Ring) -> Floats:
    """Turn (n,) [rad] of each piece from its start to its end."""
    first, second = ring.middles - ring.points, np.roll(ring.points, -1, axis=0) - ring.middles
    cross = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    return np.asarray(2 * np.abs(np.arctan2(cross, (first * second).sum(axis=1))))


def _apart(rings: list[Ring], strip: Floats | None) -> list[Ring]:
    """Cut pieces that meet others once more until none does."""
    for _ in range(_ROUNDS):
        meeting, place = _meeting(rings, strip)
        if not meeting.any():
            return rings
        cut = _parted(rings, meeting)
        if sum(len(r.marks) for r in cut) == len(meeting):
            break
        rings = cut
    name = next(r.edge.name for r, m in zip(rings, _each(rings, meeting), strict=True) if m.any())
    raise InputError(
        f"{name}: its edge meets itself or another {at_place(shapely.Point(place))}; expected a few tenths of a "
        "millimetre of wood or air there. Look for points in the wrong order or a stroke drawn twice, and correct them."
    )


def _meeting(rings: list[Ring], strip: Floats | None) -> tuple[Bools, Floats]:
    """Tell which pieces meet one that is no neighbour, or a neighbour elsewhere than at their end; and where one does."""
    curves = np.vstack([np.concatenate([ring.parabolas(np.linspace(0, 1, 5))]) for ring in rings])
    slivers = np.asarray(shapely.convex_hull(shapely.linestrings(curves)))
    n = len(slivers)
    following = np.concatenate([s + np.roll(np.arange(k), -1) for s, k in ring_starts(rings)])
    tree = shapely.STRtree(slivers)
    i, j = tree.query(slivers, predicate="intersects")
    neighbours = (following[i] == j) | (following[j] == i)
    strangers = (i < j) & ~neighbours
    meeting = np.zeros(n, bool)
    meeting[i[strangers]] = meeting[j[strangers]] = True
    shared = shapely.intersection(shapely.linestrings(curves), shapely.linestrings(curves[following]))
    folded = shapely.get_type_id(shared) != shapely.GeometryType.POINT
    meeting |= folded | folded[np.argsort(following)]
    if strip is not None:
        meeting |= shapely.intersects(slivers, shapely.Polygon(strip))
    where = curves[meeting.argmax(), 2]
    return meeting, where


def _parted(rings: Sequence[Ring], pieces: Bools) -> list[Ring]:
    """Cut these pieces in two, unless they are too short for that already."""
    each = _each(rings, pieces)
    return [r.parted(np.flatnonzero(m & (r.lengths > _SHORTEST))) for r, m in zip(rings, each, strict=True)]


def _each(rings: Sequence[Ring], pieces: Bools) -> list[Bools]:
    return np.split(pieces, np.cumsum([len(r.marks) for r in rings])[:-1])
