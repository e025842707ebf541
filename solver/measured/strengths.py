"""Strengths and phases of given tones in segments of one length: they enter linearly and are projected out.

In tap k a tone is ``x_k c + y_k s``, with the columns ``c = (u + v) / 2``, ``s = (u - v) / 2i`` of ``u = exp(n s)`` and its
conjugate v. With p and q the like of the derivatives u' and v', and f in Hz, d in 1/s, R the rate:

    d/df (x c + y s) = 2 pi / R (y p - x q),        d/d ln d (x c + y s) = -d / R (x p + y q)

so that the two columns p and q of a tone, with the tones' own columns projected out, tell the slopes of all taps.
"""

from functools import cached_property

import numpy as np

from solver.core.arrays import Floats
from solver.measured.band import Alike, Complexes, complex_rates
from solver.measured.poles import STEADY_DAMPING, Poles
from solver.measured.recording import RATE_HZ

_COINCIDING = 1e-12
"""Share of the diagonal that keeps the strengths of tones finite that coincide."""


class Projected:
    """What given tones leave of some segments: ``residual`` (2b, k) of real and imaginary parts, ``rss`` (k,) its squares.

    The damped tones (m,) come first, then the steady ones, t in all; where nothing rings there are only these.
    """

    def __init__(self, some: Alike, poles: Poles) -> None:
        """Solve for the strengths of tones."""
        self.rings, self.m = some.rings, len(poles.hz)
        self.ring = self.m if some.rings else 0
        self.damping = np.concatenate(
            [poles.damping[: self.ring], np.full(len(poles.steady_hz), STEADY_DAMPING)]
        )
        s = complex_rates(np.concatenate([poles.hz[: self.ring], poles.steady_hz]), self.damping)
        up, self._slope_up = some.columns(s)
        down, self._slope_down = some.columns(s.conj())
        columns = np.hstack([_real((up + down) / 2), _real((up - down) / 2j), some.skirts])
        self.columns = columns.shape[1]
        self._size = np.linalg.norm(columns, axis=0)
        self._basis = columns / self._size
        gram = self._basis.T @ self._basis
        gram[np.diag_indices(self.columns)] += _COINCIDING
        self._inverse = np.linalg.inv(gram)
        self._sizes, self.residual = self._split(_real(some.coefficients))
        self.rss = (self.residual**2).sum(axis=0)

    def _split(self, data: Floats) -> tuple[Floats, Floats]:
        """Return sizes (c, k) of the columns that fit data (2b, k) best, and what they leave (2b, k).

        By the normal equations, and once more for what is left: as exact as an orthogonal factor, in a third of the time.
        """
        sizes = self._inverse @ (self._basis.T @ data)
        left = data - self._basis @ sizes
        more = self._inverse @ (self._basis.T @ left)
        return sizes + more, left - self._basis @ more

    @property
    def left(self) -> Complexes:
        """Return what is left (b, k)."""
        rows = len(self.residual) // 2
        return np.asarray(self.residual[:rows] + 1j * self.residual[rows:])

    @cached_property
    def amplitudes(self) -> Complexes:
        """Complex strengths (t, k) such that a tone is ``a exp(n s) + conj(a exp(n s))``."""
        t = len(self.damping)
        scaled = self._sizes / self._size[:, None]
        return np.asarray((scaled[:t] - 1j * scaled[t : 2 * t]) / 2)

    @cached_property
    def _slopes(self) -> Floats:
        """Return p and q of the tones (2b, 2t), the tones' own columns projected out."""
        up, down = self._slope_up, self._slope_down
        slopes = np.hstack([_real((up + down) / 2), _real((up - down) / 2j)])
        return self._split(slopes)[1]

    @cached_property
    def _turned(self) -> Floats:
        """Return (k, 2t, p) by which p and q make the slopes of the residual by hz, ln damping and steady hz."""
        t, ring, m = len(self.damping), self.ring, self.m
        x, y = 2 * self.amplitudes.real.T, -2 * self.amplitudes.imag.T
        turned = np.zeros((len(x), 2 * t, 2 * m + t - ring))
        tone = np.arange(t)
        by_hz = np.where(tone < ring, tone, 2 * m - ring + tone)
        turned[:, tone, by_hz] = -2 * np.pi / RATE_HZ * y
        turned[:, t + tone, by_hz] = 2 * np.pi / RATE_HZ * x
        tone = tone[:ring]
        turned[:, tone, m + tone] = (self.damping / RATE_HZ * x)[:, :ring]
        turned[:, t + tone, m + tone] = (self.damping / RATE_HZ * y)[:, :ring]
        return turned

    def gradient(self, weights: Floats) -> Floats:
        """Return half the gradient (p,) of the sum of squares, each segment with its weight (k,)."""
        along = self._slopes.T @ self.residual * weights
        return np.asarray(np.einsum("ktp,tk->p", self._turned, along))

    def curvature(self, weights: Floats) -> Floats:
        """Return half the curvature (p, p) of the sum of squares to first order, each segment with its weight (k,)."""
        whole = self._slopes.T @ self._slopes
        return np.asarray(
            ((self._turned.transpose(0, 2, 1) @ whole @ self._turned) * weights[:, None, None]).sum(axis=0)
        )

    def lost(self) -> Floats:
        """Return by how much the sums of squares grow (m, k) where one damped tone's two columns are left out."""
        t = len(self.damping)
        pairs = np.stack([np.arange(self.ring), t + np.arange(self.ring)], axis=1)
        spread = self._inverse[pairs[:, :, None], pairs[:, None, :]]
        sizes = self._sizes[pairs]
        return np.asarray((sizes * np.linalg.solve(spread, sizes)).sum(axis=1))


def _real(columns: Complexes) -> Floats:
    return np.vstack([columns.real, columns.imag])
