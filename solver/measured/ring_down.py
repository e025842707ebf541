"""Ring-downs in one band of frequency: damped tones and steady tones fitted to all taps at once.

After a tap every mode sounds as ``a exp(-d t) cos(2 pi f t + phi)``. Frequency f and damping d belong to the plate and
are the same in every tap; strength and phase are each tap's own and are projected out (Golub and Pereyra 1973, variable
projection, with the Jacobian of Kaufman 1975). The noise of each segment is taken from what the fit leaves, so that with
Gaussian noise the fit is that of maximum likelihood, and its covariance the Cramér-Rao bound for unknown noise.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from solver.core.arrays import Floats
from solver.measured.band import Band, Complexes
from solver.measured.poles import LEAST_Q, MOST_Q, Poles
from solver.measured.strengths import Projected

_STEPS = 40
_TOLERANCE = 1e-2
"""Of the deviance: a tenth of a standard error."""

_BEYOND_PROMISE = 4.0


@dataclass(frozen=True, eq=False)
class Fit:
    """Tones as fitted: covariance of (hz, ln damping, steady_hz) in this order.

    ``amplitudes`` (segments, m + s) of every tone at the first sample, such that it is ``a exp(n s) + conj(a exp(n s))``;
    ``strength`` (taps, m) [full scale] of the damped ones; ``deviance`` is minus twice the log likelihood but for a
    constant, ``losses`` (m,) by how much it grows where one tone is left out and the others stay. ``noise`` (k,), the root
    mean square of a real coefficient, and ``left`` (b, k) are what remains, in the order of ``Band.alike``.
    """

    poles: Poles
    covariance: Floats
    amplitudes: Complexes
    strength: Floats
    deviance: float
    losses: Floats
    noise: tuple[Floats, ...]
    left: tuple[Complexes, ...]

    def energy_left(self, band: Band) -> float:
        """Return the energy in the band, as it is weighed there, that the tones leave of the ring-downs."""
        return sum(
            float(np.sum(np.abs(left) ** 2))
            for left, some in zip(self.left, band.alike, strict=True)
            if some.rings
        )


def fit(band: Band, start: Poles, steps: int = _STEPS, enough: float | None = None) -> Fit:
    """Return the tones that fit a band best, from a first guess.

    Levenberg and Marquardt's steps; every step is kept to a third of the tone's width and a factor of 1.5 in damping,
    so that no tone leaves for another's place. Where only a deviance below ``enough`` counts, it ends as soon as that is
    reached, or out of reach of several times the gain that Gauss and Newton's step promises.
    """
    pull = 1e-3
    here = _Linear(band, start)
    for _ in range(steps):
        gradient, curvature = here.normal_equations()
        scale = np.diag(np.diag(curvature) + 1e-30)
        step = np.asarray(np.linalg.solve(curvature + pull * scale, -gradient), dtype=float)
        promised = float(-gradient @ step)
        if promised < _TOLERANCE:
            break
        if enough is not None and not here.deviance - _BEYOND_PROMISE * promised < enough < here.deviance:
            break
        there = _Linear(band, _stepped(band, here.poles, step))
        if there.deviance < here.deviance:
            here, pull = there, max(pull / 5, 1e-9)
        else:
            pull *= 8
    return here.fit()


def _stepped(band: Band, poles: Poles, step: Floats) -> Poles:
    m = len(poles.hz)
    width = poles.damping / np.pi
    hz = poles.hz + np.clip(step[:m], -width / 3 - 0.2, width / 3 + 0.2)
    hz = np.clip(hz, band.low, band.high)
    damping = poles.damping * np.exp(np.clip(step[m : 2 * m], -0.4, 0.4))
    damping = np.clip(damping, np.pi * hz / MOST_Q, np.pi * hz / LEAST_Q)
    steady = poles.steady_hz + np.clip(step[2 * m :], -0.3, 0.3)
    return replace(poles, hz=hz, damping=damping, steady_hz=steady)


class _Linear:
    """The strengths that fit best with given tones, and what is left: one solution of the inner problem."""

    def __init__(self, band: Band, poles: Poles) -> None:
        self.band, self.poles = band, poles
        self.parts = [Projected(some, poles) for some in band.alike]
        self.rows = [2 * len(some.hz) for some in band.alike]
        # what the steps of the finest recording would leave, so that silence has no boundless likelihood
        self.rss = [
            np.maximum(part.rss, 1e-18 * rows * some.length)
            for part, rows, some in zip(self.parts, self.rows, band.alike, strict=True)
        ]
        self.deviance = sum(
            float((rows * np.log(rss / rows)).sum()) for rows, rss in zip(self.rows, self.rss, strict=True)
        )

    def normal_equations(self) -> tuple[Floats, Floats]:
        """Return gradient (p,) and curvature (p, p) of half the deviance."""
        weights = [rows / rss for rows, rss in zip(self.rows, self.rss, strict=True)]
        gradients = [part.gradient(some) for part, some in zip(self.parts, weights, strict=True)]
        return np.sum(gradients, axis=0), self._curvature(weights)

    def _curvature(self, weights: Sequence[Floats]) -> Floats:
        parts = [part.curvature(some) for part, some in zip(self.parts, weights, strict=True)]
        return np.asarray(np.sum(parts, axis=0), dtype=float)

    def _losses(self) -> Floats:
        total = np.zeros(len(self.poles.hz))
        for part, rows, rss in zip(self.parts, self.rows, self.rss, strict=True):
            if part.rings:
                total += rows * np.log1p(part.lost() / rss).sum(axis=1)
        return total

    def fit(self) -> Fit:
        """Return the solution with its covariance, each noise with as many degrees of freedom as are left."""
        m = len(self.poles.hz)
        free = [max(rows - part.columns, 1) for rows, part in zip(self.rows, self.parts, strict=True)]
        noise = [np.sqrt(rss / left) for rss, left in zip(self.rss, free, strict=True)]
        curvature = self._curvature([noise_of**-2 for noise_of in noise])
        amplitudes = np.zeros((self.band.segments, m + len(self.poles.steady_hz)), complex)
        for part, some in zip(self.parts, self.band.alike, strict=True):
            amplitudes[list(some.places), m - part.ring :] = part.amplitudes.T
        ringing = [place for some in self.band.alike if some.rings for place in some.places]
        return Fit(
            self.poles,
            np.asarray(np.linalg.pinv(curvature, hermitian=True), dtype=float),
            amplitudes,
            2 * np.abs(amplitudes[ringing, :m]),
            self.deviance,
            self._losses(),
            tuple(noise),
            tuple(part.left for part in self.parts),
        )
