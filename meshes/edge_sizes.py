"""How large the triangles along the edges of a plate may be: by the turn of the edge and by the wood across from it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.ndimage import uniform_filter1d

from meshes.edge import Edge
from solver.core.arrays import Floats, Ints
from solver.core.units import MM

GRADING = 0.6
"""Growth of the size per distance."""

_SAMPLES = (400, 4000)
_SAMPLE_STEP = 0.5 * MM
_TURN_PER_ELEMENT = np.radians(90.0)
_SMOOTHED_OVER = 2.5 * MM
"""What turns there and back within this length is noise of tracing, or a detail for ``cut_edges`` to look after."""

_CORNER_REACH = 0.8 * MM
_LEAST_CORNER = np.radians(25.0)
_FACING = 0.5
"""Cosine of the widest angle between the line across the wood and the normals at its ends."""

_TIP = 4.0
"""How many times longer the way along an edge must be than the way across, for a neck; on a tip it is not."""


@dataclass(frozen=True, eq=False)
class Sampled:
    """An edge at n even places: arc lengths ``s`` (n,) [m], points (n, 2) [m], unit normals (n, 2) into the wood."""

    edge: Edge
    s: Floats
    points: Floats
    normals: Floats

    @property
    def step(self) -> float:
        """Distance of the places along the edge [m]."""
        return self.edge.length / len(self.s)

    @cached_property
    def stops(self) -> Floats:
        """Arc lengths [m] of the corners that are to be seen; those of a traced line that hardly turns are none."""
        marks = self.edge.corner_marks
        if not len(marks):
            return marks
        at = self.edge.at(np.concatenate([marks - _CORNER_REACH, marks, marks + _CORNER_REACH]))
        before, corner, after = at.reshape(3, -1, 2)
        turn = _angle_between(corner - before, after - corner)
        return np.asarray(marks[np.abs(turn) > _LEAST_CORNER])


def sample(edges: Sequence[Edge]) -> list[Sampled]:
    """Return the edges at even places; the first is the outer one, wood lies inside it and outside the others."""
    sampled = []
    for i, edge in enumerate(edges):
        n = int(np.clip(edge.length / _SAMPLE_STEP, *_SAMPLES))
        s = np.arange(n) * edge.length / n
        points = edge.at(s)
        k = max(1, round(_CORNER_REACH * n / edge.length))
        along = np.roll(points, -k, axis=0) - np.roll(points, k, axis=0)
        along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-12)
        left = np.column_stack([-along[:, 1], along[:, 0]])
        sampled.append(Sampled(edge, s, points, left if i == 0 else -left))
    return sampled


def wished_sizes(
    edges: list[Sampled], strip: Floats | None, size: float, least: float, rim: float
) -> list[Floats]:
    """Return the wished length of the pieces [m] at the places of each edge, graded along it.

    At most ``size``, along the outer edge ``rim``; at least ``least``.
    """
    gaps = np.split(_wood_across(edges, strip, size), np.cumsum([len(e.s) for e in edges])[:-1])
    wishes = []
    for i, (edge, gap) in enumerate(zip(edges, gaps, strict=True)):
        most = size if i else rim
        wish = np.clip(np.minimum(_size_by_turn(edge), gap), least, most)
        wishes.append(_graded(wish, edge.step))
    return wishes


def _size_by_turn(sampled: Sampled) -> Floats:
    """Length (n,) [m] over which the smoothed edge turns as much as one piece may; corners count as no turn."""
    n = len(sampled.s)
    ends = np.unique(np.round(sampled.stops / sampled.step).astype(int) % n)
    width = max(3, round(_SMOOTHED_OVER / sampled.step))
    turn = np.zeros(n)
    if not len(ends):
        smooth = uniform_filter1d(sampled.points, width, axis=0, mode="wrap")
        turn = uniform_filter1d(_turns(np.vstack([smooth[-1:], smooth, smooth[:1]])), width, mode="wrap")
    for start, end in zip(ends, np.append(ends[1:], ends[:1] + n), strict=True):
        run = np.arange(start, end + 1) % n
        if len(run) > width:
            turn[run[1:-1]] = uniform_filter1d(_turns(_smoothed_run(sampled.points[run], width)), width)
    return np.asarray(_TURN_PER_ELEMENT * sampled.step / np.maximum(np.abs(turn), 1e-9))


def _smoothed_run(points: Floats, width: int) -> Floats:
    """A moving average (n, 2) of points (n, 2) whose ends stay where they are."""
    before, after = (
        2 * points[end] - points[beyond]
        for end, beyond in ((0, slice(width, 0, -1)), (-1, slice(-2, -width - 2, -1)))
    )
    padded = np.vstack([before, points, after])
    return np.asarray(uniform_filter1d(padded, width, axis=0)[width : width + len(points)])


def _turns(points: Floats) -> Floats:
    """Signed turns (n - 2,) [rad] at the inner of the points (n, 2)."""
    along = np.diff(points, axis=0)
    return _angle_between(along[:-1], along[1:])


def _angle_between(a: Floats, b: Floats) -> Floats:
    return np.asarray(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1)))


def _wood_across(edges: list[Sampled], strip: Floats | None, reach: float) -> Floats:
    """Width (sum of n,) [m] of the wood at each place to any edge across it, the same one included, up to ``reach``."""
    from scipy.spatial import cKDTree

    points = np.vstack([e.points for e in edges])
    normals = np.vstack([e.normals for e in edges])
    gap = np.full(len(points), reach)
    pairs = cKDTree(points).query_pairs(reach, output_type="ndarray")
    i, j = _face_each_other(edges, points, normals, pairs).T
    far = np.linalg.norm(points[j] - points[i], axis=1)
    np.minimum.at(gap, i, far)
    np.minimum.at(gap, j, far)
    if strip is not None:
        distance, nearest = cKDTree(cloud := _along_strip(strip)).query(points)
        ahead = ((cloud[nearest] - points) * normals).sum(axis=1) > 0
        gap[ahead] = np.minimum(gap, distance)[ahead]
    return gap


def _face_each_other(edges: list[Sampled], points: Floats, normals: Floats, pairs: Ints) -> Ints:
    """Return those of the pairs (k, 2) of places that see each other across wood.

    The sides of a tip, which end in it, do not. Most pairs are neighbours along one edge, so these are left out first.
    """
    i, j = pairs.T
    which = np.repeat(np.arange(len(edges)), [len(e.s) for e in edges])
    along = np.concatenate([e.s for e in edges])
    far = np.sqrt((points[j, 0] - points[i, 0]) ** 2 + (points[j, 1] - points[i, 1]) ** 2)
    way = np.abs(along[j] - along[i])
    way = np.minimum(way, np.array([e.edge.length for e in edges])[which[i]] - way)
    stay = (which[i] != which[j]) | (way > _TIP * far)
    pairs, far = pairs[stay], far[stay]
    i, j = pairs.T
    across = points[j] - points[i]
    facing = ((across * normals[i]).sum(axis=1) > _FACING * far) & (
        -(across * normals[j]).sum(axis=1) > _FACING * far
    )
    return np.asarray(pairs[facing])


def _along_strip(strip: Floats) -> Floats:
    """Points (n, 2) half a millimetre apart on the four sides of a bar's footprint (4, 2)."""
    sides = []
    for a, b in zip(strip, np.roll(strip, -1, axis=0), strict=True):
        n = max(2, int(np.linalg.norm(b - a) / _SAMPLE_STEP))
        f = np.linspace(0, 1, n, endpoint=False)[:, None]
        sides.append(a * (1 - f) + b * f)
    return np.vstack(sides)


def _graded(wish: Floats, step: float) -> Floats:
    """Let the size grow by no more than a fixed slope along the closed edge."""
    rise = GRADING * step * np.arange(3 * len(wish))
    thrice = np.tile(wish, 3)
    forward = np.minimum.accumulate(thrice - rise) + rise
    backward = (np.minimum.accumulate((thrice + rise)[::-1])[::-1]) - rise
    return np.asarray(np.minimum(forward, backward)[len(wish) : 2 * len(wish)])
