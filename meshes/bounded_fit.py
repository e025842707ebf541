"""A smooth fit that keeps to its readings within a tolerance, and its coefficients within bounds."""

from dataclasses import dataclass

import numpy as np

from meshes.smooth_fit import Smoother, lower_bands, one_thread
from solver.core.arrays import Floats

SPRINGS = (10.0, 1e5)
"""Stiffness, against a reading's own, of what pulls back to a limit: at first, and at most."""
STIFFER = 3.0
ROUNDS = 50
AIM = 0.8
"""Share of the tolerance that is aimed at, since a spring always gives a little."""
PATIENCE = 8
"""Rounds in which the limits must come nearer by a hundredth, or else they cannot be kept."""
SHORTEST = 1 / 64


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


@dataclass(frozen=True, eq=False)
class Sprung:
    """The smooth fit with springs that pull readings and coefficients back to what is aimed at within limits."""

    smoother: Smoother
    smoothing: float
    limits: Limits

    def misfit(self, c: Floats) -> Floats:
        """Return by how much coefficients (m,) exceed each reading (n,)."""
        return np.asarray(self.smoother.design @ c - self.smoother.values)

    def stretched(self, c: Floats) -> tuple[Floats, Floats]:
        """Return how far the springs of the readings (n,) and of the coefficients (m,) are drawn out."""
        aim, misfit = AIM * self.limits.tolerance, self.misfit(c)
        low, high = self.limits.low - aim, self.limits.high + aim
        return misfit - np.clip(misfit, -aim, aim), c - np.clip(c, low, high)

    def energy(self, c: Floats, stiffness: float) -> float:
        """Return what is made least: |misfit|^2 + q c' P c + stiffness * (all springs drawn out)^2."""
        taut, bent = self.stretched(c)
        rough = 10.0**self.smoothing * float(c @ (self.smoother.penalty @ c))
        return float(np.sum(self.misfit(c) ** 2) + rough + stiffness * (np.sum(taut**2) + np.sum(bent**2)))

    def step(self, c: Floats, stiffness: float) -> Floats:
        """Return the way (m,) to the least energy if the springs that are drawn out stay so, and only they."""
        from scipy.linalg import solveh_banded
        from scipy.sparse import csr_array

        taut, bent = self.stretched(c)
        rows = csr_array(self.smoother.design[np.flatnonzero(taut)])
        bands = lower_bands(csr_array(rows.T @ rows), self.smoother.reach)
        bands[0] += bent != 0
        pull = self.smoother.design.T @ (self.misfit(c) + stiffness * taut)
        pull += 10.0**self.smoothing * (self.smoother.penalty @ c) + stiffness * bent
        with one_thread():
            equations = self.smoother.equations(self.smoothing) + stiffness * bands
            return -np.asarray(solveh_banded(equations, pull, lower=True))


def bounded_coefficients(smoother: Smoother, smoothing: float, limits: Limits) -> Floats:
    """Return the coefficients (m,) of the smooth fit within limits, or as near to them as can be.

    The springs make a convex, piecewise quadratic problem, solved by Newton steps that are shortened wherever they
    would not lessen the energy; the springs are made stiffer as long as they give too much.
    """
    sprung, stiffness = Sprung(smoother, smoothing, limits), SPRINGS[0]
    c = smoother.coefficients(smoothing)
    nearest, waited = np.inf, 0
    for _ in range(ROUNDS):
        excess = limits.excess(sprung.misfit(c), c)
        waited = 0 if excess < 0.99 * nearest else waited + 1
        nearest = min(nearest, excess)
        if excess <= 1.0 or waited > PATIENCE:
            break
        step = sprung.step(c, stiffness)
        share, energy = 1.0, sprung.energy(c, stiffness)
        while share > SHORTEST and sprung.energy(c + share * step, stiffness) > energy:
            share *= 0.5
        c = c + share * step
        if share == 1.0:
            stiffness = min(STIFFER * stiffness, SPRINGS[1])
    return c
