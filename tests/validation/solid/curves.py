"""Closed plan curves given exactly, so that the solid's edge nodes lie on the true edge."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

from solver.core.arrays import Floats, Ints

Piece = Callable[[Floats], Floats]
"""One piece of a closed curve: fractions (n,) from 0 to 1 along it -> plan points (n, 2) [m]."""

CORNER = np.radians(8.0)
"""A turn sharper than this between two pieces is a corner [rad]."""


@dataclass(frozen=True, eq=False)
class Curve:
    """A closed curve of pieces joined end to end, counter-clockwise; corners only between pieces."""

    pieces: tuple[Piece, ...]

    def divided(self, step: float) -> tuple[Floats, Floats]:
        """Points (n, 2) on the curve, about ``step`` [m] apart, and those (n, 2) half-way to the next."""
        points, middles = [], []
        for piece in self.pieces:
            count = max(1, int(np.ceil(_length(piece) / step)))
            places = piece(np.linspace(0.0, 1.0, 2 * count + 1))
            points.append(places[0:-1:2])
            middles.append(places[1::2])
        return np.concatenate(points), np.concatenate(middles)

    def corners(self, step: float) -> Ints:
        """Indices (c,) of the sharp ones among the points of ``divided(step)``."""
        first = np.cumsum([0, *(max(1, int(np.ceil(_length(p) / step))) for p in self.pieces[:-1])])
        before = np.roll([_heading(p, 1.0) for p in self.pieces], 1)
        after = np.array([_heading(p, 0.0) for p in self.pieces])
        turn = np.abs(np.angle(np.exp(1j * (after - before))))
        return np.asarray(first[turn > CORNER], dtype=np.int64)


def _length(piece: Piece) -> float:
    return float(np.linalg.norm(np.diff(piece(np.linspace(0.0, 1.0, 201)), axis=0), axis=1).sum())


def _heading(piece: Piece, end: float) -> float:
    a, b = piece(np.array([0.0, 1e-6]) if end == 0.0 else np.array([1.0 - 1e-6, 1.0]))
    return float(np.arctan2(b[1] - a[1], b[0] - a[0]))


def line(start: Sequence[float], end: Sequence[float]) -> Piece:
    """A straight piece between two plan points [m]."""
    a, b = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    return lambda t: a + np.asarray(t)[:, None] * (b - a)


def arc(centre: Sequence[float], a: float, b: float, start: float, end: float) -> Piece:
    """A piece of an ellipse, semi-axes ``a`` along x and ``b`` along y [m], between two angles [rad]."""
    cx, cy = centre

    def piece(t: Floats) -> Floats:
        angle = start + t * (end - start)
        return np.column_stack([cx + a * np.cos(angle), cy + b * np.sin(angle)])

    return piece


def ellipse(a: float, b: float) -> Curve:
    """The ellipse with semi-axes ``a`` along x and ``b`` along y [m] about the origin."""
    quarter = np.pi / 2
    return Curve(tuple(arc((0.0, 0.0), a, b, k * quarter, (k + 1) * quarter) for k in range(4)))


def polygon(points: Sequence[Sequence[float]]) -> Curve:
    """The polygon through plan points [m], counter-clockwise."""
    return Curve(tuple(line(points[k], points[(k + 1) % len(points)]) for k in range(len(points))))


def slot(centre: Sequence[float], length: float, width: float, angle: float) -> Curve:
    """A slot with round ends, ``length`` over all [m], its long way turned by ``angle`` from x [rad]."""
    r, half = width / 2, (length - width) / 2
    turned = _turn((*centre,), angle)
    return Curve(
        (
            turned(line((-half, -r), (half, -r))),
            turned(arc((half, 0.0), r, r, -np.pi / 2, np.pi / 2)),
            turned(line((half, r), (-half, r))),
            turned(arc((-half, 0.0), r, r, np.pi / 2, 3 * np.pi / 2)),
        )
    )


def _turn(centre: tuple[float, ...], angle: float) -> Callable[[Piece], Piece]:
    rotation = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])

    def turned(piece: Piece) -> Piece:
        return lambda t: np.asarray(centre) + piece(t) @ rotation

    return turned


def splines(runs: Sequence[Floats]) -> Curve:
    """Cubic splines through each run of plan points (n, 2) [m], one run after another round the curve."""
    return Curve(tuple(_spline(run) for run in runs))


def _spline(points: Floats) -> Piece:
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    spline = CubicSpline(run / run[-1], points)
    return lambda t: np.asarray(spline(t))


def smooth_loop(points: Floats, pieces: int = 4) -> Curve:
    """The periodic cubic spline through plan points (n, 2) [m], cut into ``pieces``."""
    closed = np.vstack([points, points[:1]])
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    spline = CubicSpline(run / run[-1], closed, bc_type="periodic")

    def part(k: int) -> Piece:
        return lambda t: np.asarray(spline((k + t) / pieces))

    return Curve(tuple(part(k) for k in range(pieces)))
