"""The smoothest spline that the readings allow: penalised least squares, smoothing chosen by the readings."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import cache, cached_property
from typing import TYPE_CHECKING

import numpy as np
from threadpoolctl import ThreadpoolController

from solver.core.arrays import Floats, Ints

if TYPE_CHECKING:
    from scipy.sparse import csr_array


SMOOTHING = (-6.0, 9.0)
"""Least and greatest smoothing tried, as powers of ten of roughness against misfit, at equal trace."""


@dataclass(frozen=True, eq=False)
class Smoother:
    """Readings ``values`` (n,) to be met by ``design`` (n, m) @ c while c' ``roughness`` c stays small.

    ``null`` is the number of functions that are not rough at all; ``noise`` the least noise that readings of
    this kind have [unit of the values], so that perfect numbers do not ask for no smoothing at all.
    """

    design: "csr_array"
    roughness: "csr_array"
    null: int
    values: Floats
    noise: float

    @cached_property
    def penalty(self) -> "csr_array":
        """The roughness, scaled to the trace of the normal equations."""
        from scipy.sparse import csr_array

        return csr_array(self.roughness * (self.design.power(2).sum() / self.roughness.trace()))

    @cached_property
    def reach(self) -> int:
        """Number of subdiagonals of the normal equations."""
        entries = (self.design.T @ self.design + self.roughness).tocoo()
        return int(np.max(entries.row - entries.col, initial=0))

    @cached_property
    def _bands(self) -> tuple[Floats, Floats]:
        from scipy.sparse import csr_array

        return lower_bands(csr_array(self.design.T @ self.design), self.reach), lower_bands(
            self.penalty, self.reach
        )

    def equations(self, smoothing: float) -> Floats:
        """Return the bands (reach + 1, m) of A'A + 10^smoothing P."""
        misfit, rough = self._bands
        return np.asarray(misfit + 10.0**smoothing * rough)

    def coefficients(self, smoothing: float) -> Floats:
        """Return the c (m,) that minimises |values - design c|^2 + 10^smoothing c' penalty c."""
        return self._solve(smoothing)[0]

    def _solve(self, smoothing: float) -> tuple[Floats, float]:
        """Return c and the logarithm of the determinant of the normal equations."""
        from scipy.linalg import cho_solve_banded, cholesky_banded

        with one_thread():
            factor = cholesky_banded(self.equations(smoothing), lower=True)
            c = cho_solve_banded((factor, True), self.design.T @ self.values)
        return np.asarray(c), 2 * float(np.log(factor[0]).sum())

    def surprise(self, smoothing: float) -> float:
        """Return -2 log of the restricted likelihood of the readings: least at the best smoothing.

        (n - null) log(|r|^2 + q c' P c) + log det(A' A + q P) - (m - null) log q, where q = 10^smoothing.
        Wood, J. R. Statist. Soc. B 73 (2011) 3 (from memory). Infinite where the equations cannot be solved.
        """
        try:
            c, determinant = self._solve(smoothing)
        except np.linalg.LinAlgError:
            return np.inf
        n, m = self.values.size, c.size
        rough = max(float(c @ (self.penalty @ c)), 0.0)  # rounding can make it negative where there is none
        misfit = np.sum((self.values - self.design @ c) ** 2) + 10.0**smoothing * rough + n * self.noise**2
        penalty = (m - self.null) * smoothing * np.log(10.0)
        return float((n - self.null) * np.log(misfit) + determinant - penalty)

    def deleted_residuals(self, smoothing: float, rows: Ints) -> tuple[Floats, Floats]:
        """Return by how much the other readings miss each of the ``rows`` (k,), and that made even.

        With the leverage h = a' (A'A + q P)^-1 a of a reading and the misfit r, the fit without it misses it by
        r / (1 - h), and |r| / sqrt(1 - h) scatters alike for all.
        Belsley, Kuh and Welsch, Regression Diagnostics (1980) (from memory).
        """
        from scipy.linalg import cho_solve_banded, cholesky_banded

        some = self.design[rows].toarray()
        with one_thread():
            factor = cholesky_banded(self.equations(smoothing), lower=True)
            spread = cho_solve_banded((factor, True), some.T)
        free = np.maximum(1.0 - np.sum(some * spread.T, axis=1), 1e-9)
        misfit = (self.values - self.design @ self.coefficients(smoothing))[rows]
        return np.asarray(misfit / free), np.asarray(np.abs(misfit) / np.sqrt(free))

    def scatter(self, smoothing: float) -> float:
        """Return the root mean square of what the fit misses the readings by."""
        return float(np.sqrt(np.mean((self.values - self.design @ self.coefficients(smoothing)) ** 2)))

    @cached_property
    def best_smoothing(self) -> float:
        """The smoothing for which the readings are the least surprising."""
        return least_of(self.surprise, *SMOOTHING)

    def smoothing_within(self, most_scatter: float) -> float:
        """Return the best smoothing, or less if it would take more than ``most_scatter`` for noise.

        A few rough readings may look like noise altogether.
        """
        smoothing = self.best_smoothing
        while smoothing > SMOOTHING[0] and self.scatter(smoothing) > most_scatter:
            smoothing -= 1.0
        return smoothing


@cache
def _libraries() -> ThreadpoolController:
    return ThreadpoolController()


def one_thread() -> AbstractContextManager[object]:
    """Return a context in which banded equations are solved by one thread: more only wait for each other."""
    limit: AbstractContextManager[object] = _libraries().limit(limits=1, user_api="blas")
    return limit


def least_of(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function of one number is least: by steps of two, then closer round the best."""
    from scipy.optimize import minimize_scalar

    places = np.linspace(low, high, round((high - low) / 2.0) + 1)
    best = int(np.argmin([function(float(place)) for place in places]))
    around = float(places[max(best - 1, 0)]), float(places[min(best + 1, len(places) - 1)])
    return float(minimize_scalar(function, bounds=around, method="bounded", options={"xatol": 0.2}).x)


def lower_bands(matrix: "csr_array", reach: int) -> Floats:
    """Return the lower half (reach + 1, m) of a symmetric matrix, a row per diagonal, as LAPACK wants it."""
    entries = matrix.tocoo()
    lower = entries.row >= entries.col
    bands = np.zeros((reach + 1, entries.shape[1]))
    bands[(entries.row - entries.col)[lower], entries.col[lower]] = entries.data[lower]
    return bands
