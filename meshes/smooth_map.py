"""Smooth functions over a rectangle: bicubic splines, for heights and thicknesses alike."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from solver.core.arrays import Floats, freeze

if TYPE_CHECKING:
    from scipy.interpolate import NdBSpline


Bounds = tuple[float, float, float, float]
"""Least x, least y, greatest x, greatest y [m]."""

Function = Callable[[Floats], Floats]
"""A function of the plan: points (n, 2) [m] to values (n,)."""

DEGREE = 3


@dataclass(frozen=True, eq=False)
class SmoothMap:
    """A function of the plan, twice continuously differentiable: f(x, y) = sum_ij c_ij B_i(x) B_j(y).

    ``x_knots`` (m + 4,), ``y_knots`` (n + 4,) [m] are those of the cubic basis splines B_i and B_j.
    """

    x_knots: Floats
    y_knots: Floats
    coefficients: Floats

    def __post_init__(self) -> None:
        shape = (len(self.x_knots) - DEGREE - 1, len(self.y_knots) - DEGREE - 1)
        freeze(self, x_knots=((None,), float), y_knots=((None,), float), coefficients=(shape, float))

    @cached_property
    def _spline(self) -> "NdBSpline":
        from scipy.interpolate import NdBSpline

        return NdBSpline((self.x_knots, self.y_knots), self.coefficients, DEGREE)

    def _derivative(self, points: Floats, along_x: int, along_y: int) -> Floats:
        return np.asarray(self._spline(points, nu=np.array([along_x, along_y])), dtype=np.float64)

    def value(self, points: Floats) -> Floats:
        """Return f (n,) at points (n, 2) [m]."""
        return self._derivative(points, 0, 0)

    def gradient(self, points: Floats) -> Floats:
        """Return (df/dx, df/dy) as (n, 2) [per m] at points (n, 2) [m]."""
        return np.stack([self._derivative(points, 1, 0), self._derivative(points, 0, 1)], axis=-1)

    def hessian(self, points: Floats) -> Floats:
        """Return the second derivatives (n, 2, 2) [per m2] at points (n, 2) [m]."""
        xx, xy, yy = (self._derivative(points, 2 - k, k) for k in range(3))
        return np.stack([xx, xy, xy, yy], axis=-1).reshape(-1, 2, 2)


def constant_map(value: float) -> SmoothMap:
    """Return the smooth map that is ``value`` everywhere."""
    knots = np.arange(2.0 * DEGREE + 2)
    return SmoothMap(knots, knots, np.full((DEGREE + 1, DEGREE + 1), value))


def map_of_function(function: Function, bounds: Bounds, step: float) -> SmoothMap:
    """Return the smooth map that equals ``function`` at evenly spaced points of the rectangle.

    ``step`` [m] is the greatest distance of the points. The map's error falls as step^4 in value and as
    step^2 in curvature.
    """
    from scipy.interpolate import make_interp_spline

    left, low, right, high = bounds
    x = np.linspace(left, right, max(5, int(np.ceil((right - left) / step)) + 1))
    y = np.linspace(low, high, max(5, int(np.ceil((high - low) / step)) + 1))
    values = function(np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2))
    along_x = make_interp_spline(x, values.reshape(len(x), len(y)), k=DEGREE)
    along_y = make_interp_spline(y, along_x.c.T, k=DEGREE)
    return SmoothMap(along_x.t, along_y.t, along_y.c.T)
