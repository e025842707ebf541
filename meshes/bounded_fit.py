"""A smooth fit that keeps to its readings within a tolerance, and its coefficients within bounds."""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solveh_banded
from scipy.sparse import csr_array
from threadpoolctl import threadpool_limits

from meshes.smooth_fit import Smoother, lower_bands
from solver.arrays import Bools, Floats

SPRINGS = (10.0, 1e6)
"""Stiffness, against a reading's own, of what pulls back to a limit: at first, and at most."""
ROUNDS = 40
AIM = 0.8
"""Share of the tolerance that is aimed at, since a spring always gives a little."""


@dataclass(frozen=True, eq=False)
class Limits:
    """No reading is missed by more than ``tolerance``, no coefficient (m,) leaves ``low`` to ``high`` by more."""

    tolerance: float
    low: Floats
    high: Floats

    def excess(self, misfit: Floats, c: Floats) -> float:
        """Return the greatest share of the tolerance that is used; more than 1 where a limit is broken."""
        outside = np.max([self.low - c, c - self.high])
        return float(max(np.abs(misfit).max(), outside) / self.tolerance)


def bounded_coefficients(smoother: Smoother, smoothing: float, limits: Limits) -> Floats:
    """Return the coefficients (m,) of the smooth fit within limits, or as near to them as can be.

    Wherever the free fit breaks a limit, a spring pulls it back: a convex piecewise quadratic problem, solved by
    Newton steps (the set of taut springs is found anew in each) while the springs are made stiffer.
    """
    pull = smoother.design.T @ smoother.values
    equations = smoother.equations(smoothing)
    c, stiffness = smoother.coefficients(smoothing), SPRINGS[0]
    for _ in range(ROUNDS):
        misfit = smoother.design @ c - smoother.values
        if limits.excess(misfit, c) <= 1.0:
            break
        taut = np.abs(misfit) > AIM * limits.tolerance
        bent = (c < limits.low - AIM * limits.tolerance) | (c > limits.high + AIM * limits.tolerance)
        bands, loads = _springs(smoother, limits, misfit, taut, bent, c)
        with threadpool_limits(limits=1, user_api="blas"):
            c = np.asarray(solveh_banded(equations + stiffness * bands, pull + stiffness * loads, lower=True))
        stiffness = min(3 * stiffness, SPRINGS[1])
    return c


def _springs(
    smoother: Smoother, limits: Limits, misfit: Floats, taut: Bools, bent: Bools, c: Floats
) -> tuple[Floats, Floats]:
    """Return bands and loads of unit springs from readings ``taut`` and coefficients ``bent`` to their limits."""
    rows = csr_array(smoother.design[np.flatnonzero(taut)])
    bands = lower_bands(csr_array(rows.T @ rows), smoother.reach)
    bands[0] += bent
    aim = AIM * limits.tolerance
    targets = smoother.values[taut] + aim * np.sign(misfit[taut])
    loads = rows.T @ targets + bent * np.clip(c, limits.low - aim, limits.high + aim)
    return bands, np.asarray(loads)
