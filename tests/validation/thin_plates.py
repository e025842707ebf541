"""Free thin flat plates by classical theory: rectangles by Ritz's method, discs by Bessel functions.

Kirchhoff's plate, no shear deformation and no rotary inertia; A. W. Leissa, Vibration of Plates, NASA SP-160 (1969).
"""

import numpy as np
from numpy.polynomial import legendre
from scipy.linalg import eigh
from scipy.optimize import brentq
from scipy.special import iv, ivp, jv, jvp

from solver.core.arrays import Floats
from solver.plate.wood import Wood

DEGREE = 15
"""Degree of the polynomials along each side: the first ten frequencies are then converged to six figures."""


def rectangle_hz(length: float, width: float, thickness: float, wood: Wood, count: int = 8) -> Floats:
    """Frequencies (count,) [Hz] of a free rectangle with the grain along its length, ring angle nought.

    Ritz: ``w = sum c_ij P_i(2x/a) P_j(2y/b)`` makes ``1/2 int D_ab w_a w_b`` over the plate stationary, with
    ``w_a = (w_xx, w_yy, 2 w_xy)`` and ``D = h^3/12`` times the inverse of the in-plane compliance.
    """
    stiff = np.linalg.inv(wood.compliance()[np.ix_([0, 1, 5], [0, 1, 5])]) * thickness**3 / 12
    x, y = _products(length), _products(width)
    K = stiff[0, 0] * np.kron(x[2, 2], y[0, 0]) + stiff[1, 1] * np.kron(x[0, 0], y[2, 2])
    K += stiff[0, 1] * (np.kron(x[2, 0], y[0, 2]) + np.kron(x[0, 2], y[2, 0]))
    K += 4 * stiff[2, 2] * np.kron(x[1, 1], y[1, 1])
    M = wood.density * thickness * np.kron(x[0, 0], y[0, 0])
    values = eigh(K, M, eigvals_only=True, subset_by_index=[3, 2 + count])
    return np.asarray(np.sqrt(values) / (2 * np.pi))


def _products(side: float) -> dict[tuple[int, int], Floats]:
    """Integrals (n, n) over a side [m] of products of derivatives of the Legendre polynomials."""
    nodes, weights = legendre.leggauss(DEGREE + 1)
    d = [legendre.legval(nodes, legendre.legder(np.eye(DEGREE + 1), k)) * (2 / side) ** k for k in range(3)]
    return {(p, q): (d[p] * weights * side / 2) @ d[q].T for p in range(3) for q in range(3)}


def disc_parameters(nu: float, count: int) -> Floats:
    """``lambda = omega a^2 sqrt(rho h / D)`` (count,) of a free disc, each pair once, ascending."""
    found = [root for n in range(8) for root in _roots(n, nu, 7.0)]
    return np.sort(np.square(found))[:count]


def _roots(n: int, nu: float, most: float) -> list[float]:
    """Roots k = sqrt(lambda) below ``most``: no moment and no edge force for n node diameters (Leissa, ch. 2)."""

    def edge(k: float) -> float:
        moment_j = k**2 * jv(n, k) + (1 - nu) * (k * jvp(n, k) - n**2 * jv(n, k))
        moment_i = k**2 * iv(n, k) - (1 - nu) * (k * ivp(n, k) - n**2 * iv(n, k))
        force_j = k**3 * jvp(n, k) + (1 - nu) * n**2 * (k * jvp(n, k) - jv(n, k))
        force_i = k**3 * ivp(n, k) - (1 - nu) * n**2 * (k * ivp(n, k) - iv(n, k))
        return float((moment_j * force_i - moment_i * force_j) * np.exp(-2 * k))

    grid = np.linspace(0.5, most, 400)
    signs = np.sign([edge(k) for k in grid])
    turns = np.flatnonzero(signs[:-1] * signs[1:] < 0)
    return [float(brentq(edge, grid[i], grid[i + 1])) for i in turns]
