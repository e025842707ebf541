"""Sound holes drawn by us for the stock plates (invented proportions; no maker's pattern, no instrument).

Each is an S of changing width between two round eyes. At either end the stem turns about the eye and stops at the wing, the
tongue of wood between stem and eye, whose end is cut straight; a small notch on either side marks the middle.
"""

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

from meshes.edge import Edge, edge_through
from solver.core.arrays import Floats
from solver.core.units import MM

_LENGTH, _WIDTH = 355.0, 206.0
_DETAIL = 0.7
"""Power of the plate's length with which eyes, widths and notches grow: larger holes are more slender."""

_UPPER, _LOWER = (187.0, 25.0), (125.5, 53.5)
_UPPER_EYE, _LOWER_EYE = 6.8, 8.4
_LOWER_TURN = 1.22
"""Middles and diameters of the eyes on the bass side of a violin [mm]; size of the lower turn against the upper."""

# One side of the S on a violin, from the turn about its own eye along the stem to the corner of the other eye's wing: the
# share of the way between the eyes, and from there [mm] on along that way and to its right, in the size of the turn there.
_TURN = [(0.0, -3.75, 0.5), (0.0, -3.8, 2.9), (0.0, -2.3, 5.8), (0.0, 1.6, 8.1), (0.0, 8.0, 8.8)]
_STEM = [(0.26, -1.0, 7.5), (0.5, 0.0, 3.2), (0.72, 0.0, -1.6), (1.0, -6.0, -4.6)]
_SIDE = np.array(_TURN + _STEM)
_MIDDLE = 7
"""Which knot of the side, its eye's counted, has the notch."""

_WING_MEETS, _SIDE_LEAVES = np.radians(69.0), np.radians(-150.0)
"""Where the end of the wing and the side touch an eye, as turned to the right from the way to the other eye."""

_NOTCH_WIDTH, _NOTCH_DEPTH = 1.8, 1.1
_STEP = 3.0
_EYE_STEPS = 8


@dataclass(frozen=True, eq=False)
class _End:
    """One end of a hole: middle and radius of its eye, and the size of its turn; all in mm."""

    eye: Floats
    radius: float
    turn: float


def stock_holes(length: float, width: float) -> tuple[Edge, Edge]:
    """Return the two sound holes of a violin-family top ``length`` by ``width`` [m], named bass and treble.

    x runs from the tail end and y to the bass side, as in ``stock_outline``. The eyes lie in proportion to the plate and
    are round: 6.8 and 8.4 mm on a violin, about 7.5 and 9.3 mm on a viola, 11.5 and 14.2 mm on a cello. The edges have
    corners, which their files list twice: ``edge_text`` of ``solver/stock.py`` writes such a file.
    """
    place = np.array([length / MM / _LENGTH, width / MM / _WIDTH])
    detail = (length / MM / _LENGTH) ** _DETAIL
    upper = _End(np.multiply(_UPPER, place), detail * _UPPER_EYE / 2, detail)
    lower = _End(np.multiply(_LOWER, place), detail * _LOWER_EYE / 2, detail * _LOWER_TURN)
    runs = [*_half(upper, lower, detail), *_half(lower, upper, detail)]
    bass = np.vstack([run[:-1] for run in runs]) * MM
    corners = np.cumsum([0] + [len(run) - 1 for run in runs[:-1]])
    return edge_through(bass, "bass", corners), edge_through(bass * [1.0, -1.0], "treble", corners)


def _half(near: _End, far: _End, detail: float) -> list[Floats]:
    """Half way round [mm], in runs that meet at corners: a side with its notch, the end of the far wing, the far eye."""
    axes = _axes(near, far)
    size = near.turn + _SIDE[:, :1] * (far.turn - near.turn)
    points = near.eye + _SIDE[:, :1] * (far.eye - near.eye) + size * (_SIDE[:, 1:] @ axes)
    points = np.vstack([_on_eye(near, axes, _SIDE_LEAVES), points])
    marks = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1)))
    side = CubicSpline(marks, points)
    before, after = marks[_MIDDLE] + 0.5 * detail * _NOTCH_WIDTH * np.array([-1.0, 1.0])
    along = side(after) - side(before)
    tip = side(marks[_MIDDLE]) + detail * _NOTCH_DEPTH * _right_of(along / np.linalg.norm(along))
    angles = np.linspace(_WING_MEETS, _SIDE_LEAVES, _EYE_STEPS)
    eye = np.vstack([_on_eye(far, -axes, angle) for angle in angles])
    return [
        side(_steps(0.0, before, detail)),
        np.vstack([side(before), tip]),
        np.vstack([tip, side(after)]),
        side(_steps(after, marks[-1], detail)),
        np.vstack([points[-1], eye[0]]),
        eye,
    ]


def _axes(near: _End, far: _End) -> Floats:
    """The way from one eye to the other, and the right of it: unit vectors in rows."""
    way = (far.eye - near.eye) / np.linalg.norm(far.eye - near.eye)
    return np.vstack([way, _right_of(way)])


def _right_of(way: Floats) -> Floats:
    return np.array([way[1], -way[0]])


def _on_eye(end: _End, axes: Floats, angle: float) -> Floats:
    return np.asarray(end.eye + end.radius * np.array([np.cos(angle), np.sin(angle)]) @ axes)


def _steps(start: float, stop: float, detail: float) -> Floats:
    return np.linspace(start, stop, max(2, round((stop - start) / (detail * _STEP)) + 1))
