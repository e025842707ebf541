"""Bézier curves end to end, which is what drawings are made of, and the edge that they make."""

import numpy as np

from meshes.edge import SAME_POINT, Edge, edge_through
from meshes.edge_files.stroke import Beziers
from solver.core.arrays import Bools, Floats, Ints
from solver.core.errors import InputError
from solver.core.units import MM

CORNER = np.radians(20.0)
"""Turn from one curve to the next from which on a corner is meant; less is a polygon in place of a bend."""

KNOT_STEP = 3 * MM
KNOT_TURN = np.radians(6.0)
"""Greatest distance and turn between knots: a spline through 60 points of a circle has its area to 1e-6."""

MOST_KNOTS = 3000
COARSEST_TURN = np.radians(15.0)
"""Where tiny bends on a long edge would ask for more knots than this, only they themselves are given more."""

TABLE = np.linspace(0.0, 1.0, 33)


def points_on(bezier: Floats, t: Floats) -> Floats:
    """Return the points (k, 2) [m] at the parameters t (k,) from 0 to 1, by de Casteljau's construction."""
    points = np.repeat(bezier[:, None, :], len(t), axis=1)
    while len(points) > 1:
        points = points[:-1] + t[:, None] * np.diff(points, axis=0)
    return np.asarray(points[0])


def enclosed_area(beziers: Beziers) -> float:
    """Return roughly the area [m2] inside the curves, closed by a straight line."""
    points = np.concatenate([_polyline(bezier) for bezier in beziers])
    x, y = (points - points[0]).T
    return float(abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2)


def backwards(beziers: Beziers) -> Beziers:
    """Return the same curves run from their end to their start."""
    return tuple(bezier[::-1] for bezier in reversed(beziers))


def edge_from_beziers(beziers: Beziers, name: str) -> Edge:
    """Return the edge along curves that close, with a corner wherever they turn by 20 degrees or more.

    Knots are taken evenly along every smooth run, as its sharpest bend asks; a straight line between corners
    needs only its ends.

    Raises
    ------
    InputError
        If no curve is long enough to count, or there are too few for an edge.
    """
    sized = [bezier for bezier in beziers if _length(_polyline(bezier)) > SAME_POINT]
    if not sized:
        raise InputError(
            f"{name}: it is drawn in steps of less than {SAME_POINT / MM:g} mm; expected longer ones. "
            "Simplify the line in the drawing program."
        )
    corners = _corners(sized)
    first = int(np.argmax(corners))  # 0 where there is none
    ordered, corners = sized[first:] + sized[:first], np.roll(corners, -first)
    run = np.cumsum(corners, dtype=np.int64)
    counts = _knot_counts(ordered, run)
    knots = [_evenly(bezier, count) for bezier, count in zip(ordered, counts, strict=True)]
    starts = np.cumsum(counts) - counts
    return edge_through(np.concatenate(knots), name, starts[corners])


def _corners(beziers: list[Floats]) -> Bools:
    """Tell at which curves (m,) the direction jumps from the one before."""
    near = np.array([0.0, 1e-3, 1.0 - 1e-3, 1.0])
    points = np.array([points_on(bezier, near) for bezier in beziers])
    ahead, behind = points[:, 1] - points[:, 0], np.roll(points[:, 3] - points[:, 2], 1, axis=0)
    return np.asarray(np.abs(_turns(behind, ahead)) > CORNER)


def _turns(before: Floats, after: Floats) -> Floats:
    """Angles (k,) from the directions before (k, 2) to those after (k, 2)."""
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.asarray(np.arctan2(cross, np.einsum("ij,ij->i", before, after)))


def _knot_counts(beziers: list[Floats], run: Ints) -> Ints:
    """Numbers (m,) of knots on the curves, as the sharpest bend in each smooth run (m,) asks."""
    lines = [_polyline(bezier) for bezier in beziers]
    lengths = np.array([_length(line) for line in lines])
    sides = [np.diff(line, axis=0) for line in lines]
    turns = np.array([np.abs(_turns(side[:-1], side[1:])).sum() for side in sides])
    steps = np.minimum(KNOT_STEP, KNOT_TURN * lengths / np.maximum(turns, 1e-9))
    shortest = np.full(run.max() + 1, np.inf)
    np.minimum.at(shortest, run, steps)
    step = np.maximum(shortest[run], lengths.sum() / MOST_KNOTS)
    counts = np.maximum(np.ceil(lengths / step), np.ceil(turns / COARSEST_TURN)).astype(np.int64)
    alone = (np.bincount(run)[run] == 1) & (run > 0) & (turns < 1e-9)
    return np.where(alone, 1, np.maximum(counts, 1))


def _evenly(bezier: Floats, count: int) -> Floats:
    """Points (count, 2) on a curve at even distances, its start with them and its end not."""
    if count == 1:
        return bezier[:1]
    lengths = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(points_on(bezier, TABLE), axis=0), axis=1)))
    return points_on(bezier, np.interp(lengths[-1] * np.arange(count) / count, lengths, TABLE))


def _polyline(bezier: Floats) -> Floats:
    """Points (k, 2) close together on a curve; a straight line needs none between its ends."""
    return bezier if len(bezier) == 2 else points_on(bezier, TABLE)


def _length(polyline: Floats) -> float:
    return float(np.linalg.norm(np.diff(polyline, axis=0), axis=1).sum())
