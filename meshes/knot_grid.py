"""Even knots over a plate, and how rough a spline on them is."""

from dataclasses import dataclass
from math import comb
from typing import TYPE_CHECKING

import numpy as np

from meshes.smooth_map import DEGREE, Bounds, SmoothMap
from solver.core.arrays import Floats, freeze

if TYPE_CHECKING:
    from scipy.sparse import csr_array


def even_knots(low: float, high: float, step: float) -> Floats:
    """Return even cubic knots (k,), no farther apart than ``step``, whose base interval is low to high."""
    intervals = max(1, int(np.ceil((high - low) / step - 1e-9)))
    return low + (high - low) / intervals * np.arange(-DEGREE, intervals + DEGREE + 1.0)


def differences(size: int, order: int) -> "csr_array":
    """Return D (size - order, size), the ``order``-th differences of a row of coefficients."""
    from scipy.sparse import csr_array, eye_array

    matrix = csr_array(eye_array(size, dtype=np.float64))
    for _ in range(order):
        matrix = csr_array(matrix[1:] - matrix[:-1])
    return matrix


@dataclass(frozen=True, eq=False)
class KnotGrid:
    """Even knots (k,) [m] along x and along y; coefficients run fastest along y."""

    x: Floats
    y: Floats

    def __post_init__(self) -> None:
        freeze(self, x=((None,), float), y=((None,), float))

    @property
    def shape(self) -> tuple[int, int]:
        """Number of coefficients along x and along y."""
        return len(self.x) - DEGREE - 1, len(self.y) - DEGREE - 1

    @property
    def centres(self) -> Floats:
        """Where each coefficient acts most (m, 2) [m]: the middle of its basis spline."""
        middles = np.meshgrid(self.x[2:-2], self.y[2:-2], indexing="ij")
        return np.stack(middles, axis=-1).reshape(-1, 2)

    def map(self, coefficients: Floats) -> SmoothMap:
        """Return the smooth map with these coefficients (m,)."""
        return SmoothMap(self.x, self.y, coefficients.reshape(self.shape))

    def design(self, points: Floats) -> "csr_array":
        """Return A (n, m) with A @ coefficients the values at points (n, 2) [m]."""
        from scipy.interpolate import NdBSpline
        from scipy.sparse import csr_array

        found = NdBSpline.design_matrix(np.ascontiguousarray(points), (self.x, self.y), DEGREE)
        shape = (len(points), self.shape[0] * self.shape[1])  # splines that no point touches have columns too
        return csr_array((found.data, found.indices, found.indptr), shape=shape)

    def roughness(self, order: int) -> "csr_array":
        """Return P (m, m), whose c' P c measures the squared ``order``-th derivatives in all directions.

        P = sum_k binom(order, k) (h_y/h_x)^(order - 2 k) D_x^(order - k)' D_x^(order - k) (x) D_y^k' D_y^k
        with differences D for derivatives, so that any order goes with cubic splines.
        P-splines: Eilers and Marx, Statistical Science 11 (1996) 89 (from memory).
        """
        from scipy.sparse import csr_array, kron

        ratio = (self.y[1] - self.y[0]) / (self.x[1] - self.x[0])
        total = csr_array((self.shape[0] * self.shape[1],) * 2)
        for k in range(order + 1):
            along_x, along_y = differences(self.shape[0], order - k), differences(self.shape[1], k)
            weight = comb(order, k) * ratio ** (order - 2 * k)
            total = total + weight * kron(along_x.T @ along_x, along_y.T @ along_y)
        return csr_array(total)


def knot_grid(bounds: Bounds, step: float, margin: float) -> KnotGrid:
    """Return knots, no farther apart than ``step`` [m], over a rectangle widened by ``margin`` [m]."""
    left, low, right, high = bounds
    return KnotGrid(
        even_knots(left - margin, right + margin, step), even_knots(low - margin, high + margin, step)
    )
