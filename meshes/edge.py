"""A closed edge in plan: the outline of a plate, or a hole in it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from solver.core.arrays import Floats, Ints, freeze
from solver.core.errors import InputError
from solver.core.units import MM

SAME_POINT = 0.01 * MM
"""Points nearer than this are one point: far below what a maker can draw, far above rounding in a file."""

LEAST_SMOOTH, LEAST_CORNERED = 6, 3
"""Fewest points of an edge without and with corners; five leave the bouts of a plate to chance."""

CELLS = 4
"""Parts of a span between knots, each with its own Gauss rule and its own entry among the arc lengths."""

STEP = 0.5 * MM
"""Sides of the polygon that stands for an edge: on a bend of 50 mm radius it is off by 0.6 micrometres."""

SIDES = (2000, 10_000)
"""Fewest sides, for small holes, and most, for what was given in a wrong unit."""

GAUSS_POINTS, GAUSS_WEIGHTS = np.polynomial.legendre.leggauss(6)
NEWTON_STEPS = 4


@dataclass(frozen=True, eq=False)
class Edge:
    """A closed edge that is smooth (cubic spline, C2) between its corners and sharp at them.

    ``knots`` (n, 2) [m] run counter-clockwise, none is repeated; ``corners`` (c,) are the indices of the
    knots at which the edge turns sharply, rising. Without corners the spline is periodic. Its parameter is
    the chord length, which lets it come to a smooth curve with the fourth power of the spacing of the knots.
    The ends of a piece between corners are "not-a-knot", so that two knots make a straight line. ``traced`` (n, 2) [m]
    are the points as they were given, where the knots are not quite those (`steadied_edge`).
    """

    knots: Floats
    corners: Ints
    name: str = "outline"
    traced: Floats | None = None

    def __post_init__(self) -> None:
        """Keep the arrays from being changed; corners that do not rise are a fault of the caller."""
        freeze(self, knots=((None, 2), np.float64), corners=((None,), np.int64))
        if len(self.corners) and not (np.diff(self.corners, prepend=-1, append=len(self.knots)) > 0).all():
            raise ValueError(f"corners {self.corners} of {len(self.knots)} knots do not rise")
        if self.traced is not None:
            freeze(self, traced=((len(self.knots), 2), np.float64))

    @property
    def length(self) -> float:
        """Arc length once round [m]."""
        return float(self._arc_lengths[-1])

    @property
    def corner_marks(self) -> Floats:
        """Arc lengths (c,) from knot 0 to the corners [m], rising."""
        return self._arc_lengths[CELLS * self.corners]

    @cached_property
    def area(self) -> float:
        """Area inside the edge [m2], exact for the spline.

        Green's theorem, A = 1/2 of the integral of (x dy - y dx): of the fifth degree in each span, for which
        three Gauss points are exact.
        """
        points, weights = np.polynomial.legendre.leggauss(3)
        v = (np.arange(len(self.knots))[:, None] + 0.5 * (1 + points)).ravel()
        r, dr = self._evaluate(v) - self.knots.mean(axis=0), self._velocity(v)
        return float(0.25 * np.tile(weights, len(self.knots)) @ (r[:, 0] * dr[:, 1] - r[:, 1] * dr[:, 0]))

    @cached_property
    def polygon(self) -> Floats:
        """The polygon (k, 2) [m] that stands for the edge where the last micrometre does not count."""
        return self.sampled(self.length / np.clip(self.length / STEP, *SIDES))

    @property
    def moved(self) -> Floats:
        """Distances (n,) [m] of the knots from the points as they were given."""
        return np.asarray(
            np.linalg.norm(self.knots - (self.knots if self.traced is None else self.traced), axis=1)
        )

    def at(self, s: Floats) -> Floats:
        """Return the points (k, 2) [m] at the arc lengths s (k,) [m] from knot 0, taken modulo the length."""
        return self._evaluate(self._parameter(s))

    def tangent(self, s: Floats) -> Floats:
        """Return the unit tangents (k, 2) at the arc lengths s (k,) [m]; at a corner, of the piece ahead."""
        velocity = self._velocity(self._parameter(s))
        return np.asarray(velocity / np.linalg.norm(velocity, axis=1, keepdims=True))

    def sampled(self, step: float) -> Floats:
        """Return a polygon (k, 2) [m] on the edge: corners kept, sides even and no longer than ``step``."""
        marks = self.corner_marks if len(self.corners) else np.zeros(1)
        ends = np.append(marks[1:], marks[0] + self.length)
        counts = np.maximum(np.ceil((ends - marks) / step - 1e-9), 1 if len(marks) > 2 else 3).astype(int)
        runs = [np.linspace(a, b, n, endpoint=False) for a, b, n in zip(marks, ends, counts, strict=True)]
        return self.at(np.concatenate(runs))

    @cached_property
    def _cubics(self) -> Floats:
        """Coefficients (4, n, 2) of u^3, u^2, u, 1 in the spans from knot to knot, u from 0 to 1."""
        from scipy.interpolate import CubicSpline

        n = len(self.knots)
        cubics = np.empty((4, n, 2))
        first = self.corners if len(self.corners) else np.zeros(1, np.int64)
        for start, end in zip(first, np.append(first[1:], first[0] + n), strict=True):
            knots = self.knots[np.arange(start, end + 1) % n]
            chords = np.linalg.norm(np.diff(knots, axis=0), axis=1)
            parameter = np.append(0.0, np.cumsum(chords))
            spline = CubicSpline(parameter, knots, bc_type="not-a-knot" if len(self.corners) else "periodic")
            powers = chords[None, :, None] ** np.array([3, 2, 1, 0])[:, None, None]
            cubics[:, np.arange(start, end) % n] = spline.c * powers
        return cubics

    @cached_property
    def _arc_lengths(self) -> Floats:
        """Arc lengths (CELLS n + 1,) [m] from knot 0 to the ends of the cells."""
        v = np.arange(CELLS * len(self.knots)) / CELLS
        return np.append(0.0, np.cumsum(self._arc(v, v + 1 / CELLS)))

    def _arc(self, start: Floats, end: Floats) -> Floats:
        """Arc lengths (k,) between parameters (k,) that lie in one cell."""
        half = 0.5 * (end - start)
        v = (start + half)[:, None] + half[:, None] * GAUSS_POINTS
        speeds = np.linalg.norm(self._velocity(v.ravel()), axis=1).reshape(v.shape)
        return np.asarray(half * (speeds @ GAUSS_WEIGHTS))

    def _parameter(self, s: Floats) -> Floats:
        """Invert the arc length: the parameters v (k,), whose whole part is the span and whose rest is u."""
        s = np.mod(np.asarray(s, np.float64), self.length)
        cell = np.clip(np.searchsorted(self._arc_lengths, s, side="right") - 1, 0, len(self._arc_lengths) - 2)
        start, rest = cell / CELLS, s - self._arc_lengths[cell]
        v = start + rest / np.diff(self._arc_lengths)[cell] / CELLS
        for _ in range(NEWTON_STEPS):
            speed = np.linalg.norm(self._velocity(v), axis=1)
            v = np.clip(v - (self._arc(start, v) - rest) / speed, start, start + 1 / CELLS)
        return v

    def _evaluate(self, v: Floats) -> Floats:
        """Points (k, 2) at the parameters v (k,)."""
        u, (c3, c2, c1, c0) = self._spans(v)
        return np.asarray(((c3 * u + c2) * u + c1) * u + c0)

    def _velocity(self, v: Floats) -> Floats:
        """Derivatives (k, 2) of the points by the parameters v (k,)."""
        u, (c3, c2, c1, _) = self._spans(v)
        return np.asarray((3 * c3 * u + 2 * c2) * u + c1)

    def _spans(self, v: Floats) -> tuple[Floats, Floats]:
        """Place in the span (k, 1), from 0 to 1, and the span's coefficients (4, k, 2)."""
        span = np.floor(v)
        return (v - span)[:, None], self._cubics[:, span.astype(np.int64) % len(self.knots)]


def edge_through(points: Floats, name: str, corners: Sequence[int] | Ints = ()) -> Edge:
    """Return the closed edge through ``points`` (n, 2) [m] in order, either way round, sharp at ``corners``.

    Raises
    ------
    InputError
        If there are fewer than six points, or three where there are corners, or all lie on a line.
    """
    marks = np.unique(np.asarray(corners, np.int64))
    least = LEAST_CORNERED if len(marks) else LEAST_SMOOTH
    if len(points) < least:
        raise InputError(
            f"{name}: it has {len(points)} different points; expected at least {least} for an edge "
            f"{'with' if len(marks) else 'without'} corners. Take more points along it."
        )
    widest, narrowest = np.linalg.svd(points - points.mean(axis=0), compute_uv=False)
    if narrowest < 1e-6 * widest:
        raise InputError(
            f"{name}: its points lie on one straight line; expected the edge in order, once round. "
            "Look whether a column is the same throughout."
        )
    edge = Edge(points, marks, name)
    return edge if edge.area > 0 else _reversed(edge)


def _reversed(edge: Edge) -> Edge:
    """Return the same edge run the other way, still from knot 0."""
    n = len(edge.knots)
    return Edge(np.roll(edge.knots[::-1], 1, axis=0), np.sort(-edge.corners % n), edge.name)
