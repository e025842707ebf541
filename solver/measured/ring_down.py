"""Ring-downs in one band of frequency: damped tones and steady tones fitted to all taps at once.

After a tap every mode sounds as ``a exp(-d t) cos(2 pi f t + phi)``. Frequency f and damping d belong to the plate and
are the same in every tap; strength and phase are each tap's own. They enter linearly and are projected out (Golub and
Pereyra 1973, variable projection, with the Jacobian of Kaufman 1975). The noise of each segment is taken from what the
fit leaves, so that with Gaussian noise the fit is that of maximum likelihood, and its covariance the Cramér-Rao bound
for unknown noise.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import solve_triangular

from solver.arrays import Floats, freeze
from solver.measured.band import Band, Complexes, complex_rates, tone_columns
from solver.measured.recording import RATE_HZ

LEAST_Q, MOST_Q = 4.0, 600.0
"""Q of what can be a mode of a plate; wood alone stands between 20 and 150 (common practice, no source)."""

_STEADY_DAMPING = 1e-3
_STEPS = 40


@dataclass(frozen=True, eq=False)
class Poles:
    """Tones of a band: damped ones at ``hz`` (m,) with ``damping`` (m,) [1/s], steady ones at ``steady_hz`` (s,)."""

    hz: Floats
    damping: Floats
    steady_hz: Floats

    def __post_init__(self) -> None:
        freeze(self, hz=((None,), float), damping=((len(self.hz),), float), steady_hz=((None,), float))

    @property
    def q(self) -> Floats:
        """Quality factor: pi f / d, the frequency over the half-power width."""
        return np.asarray(np.pi * self.hz / self.damping)

    def without(self, place: int) -> "Poles":
        """Return all but one of the damped tones."""
        return Poles(np.delete(self.hz, place), np.delete(self.damping, place), self.steady_hz)

    def joined(self, other: "Poles") -> "Poles":
        """Return these tones and others."""
        pairs = ((self.hz, other.hz), (self.damping, other.damping), (self.steady_hz, other.steady_hz))
        return Poles(*(np.concatenate(pair) for pair in pairs))

    @classmethod
    def none(cls) -> "Poles":
        """Return no tones."""
        return cls(np.zeros(0), np.zeros(0), np.zeros(0))


@dataclass(frozen=True, eq=False)
class Fit:
    """Tones as fitted: covariance of (hz, ln damping, steady_hz) in this order; strengths [full scale] of every tone.

    ``strength`` (taps, m) of the damped tones at the first sample of each ring-down; ``deviance`` is minus twice the
    log likelihood but for a constant, ``losses`` (m,) by how much it grows where one tone is left out and the others
    stay; ``noise`` (segments,) the root mean square of a real coefficient that is left.
    """

    poles: Poles
    covariance: Floats
    strength: Floats
    deviance: float
    losses: Floats
    noise: Floats
    left: tuple[Complexes, ...]

    def energy_left(self, band: Band) -> float:
        """Return the energy in the band, as it is weighed there, that the tones leave of the ring-downs."""
        return sum(
            float(np.sum(np.abs(left) ** 2))
            for left, rings in zip(self.left, band.rings, strict=True)
            if rings
        )


def fit(band: Band, start: Poles, steps: int = _STEPS) -> Fit:
    """Return the tones that fit a band best, from a first guess.

    Levenberg and Marquardt's steps; every step is kept to a third of the tone's width and a factor of 1.5 in damping,
    so that no tone leaves for another's place.
    """
    poles, pull = start, 1e-3
    here = _Linear(band, poles)
    for _ in range(steps):
        gradient, curvature = here.normal_equations()
        if not len(gradient):
            break
        scale = np.diag(curvature).copy() + 1e-30
        step = np.asarray(np.linalg.solve(curvature + np.diag(pull * scale), -gradient), dtype=float)
        tried = _stepped(band, poles, step)
        there = _Linear(band, tried)
        if there.deviance < here.deviance:
            gain = here.deviance - there.deviance
            poles, here, pull = tried, there, max(pull / 5, 1e-9)
            if gain < 1e-2:
                break
        else:
            pull *= 8
            if pull > 1e6:
                break
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
        self.parts = [_Part(band, poles, k) for k in range(len(band.rings))]
        self.rows = np.array([len(part.residual) for part in self.parts])
        # what the steps of the finest recording would leave, so that silence has no boundless likelihood
        least = 1e-18 * self.rows * np.array(band.lengths)
        self.rss = np.maximum([float(part.residual @ part.residual) for part in self.parts], least)
        self.deviance = float((self.rows * np.log(self.rss / self.rows)).sum())

    def normal_equations(self) -> tuple[Floats, Floats]:
        """Return gradient (p,) and curvature (p, p) of half the deviance."""
        gradient = np.zeros(2 * len(self.poles.hz) + len(self.poles.steady_hz))
        curvature = np.zeros((len(gradient), len(gradient)))
        for part, weight in zip(self.parts, self.rows / self.rss, strict=True):
            slopes = part.slopes()
            gradient += weight * (slopes.T @ part.residual)
            curvature += weight * (slopes.T @ slopes)
        return gradient, curvature

    def losses(self) -> Floats:
        """Return by how much the deviance grows (m,) where one damped tone is left out and the others stay as they are."""
        total = np.zeros(len(self.poles.hz))
        for part, rows, rss in zip(self.parts, self.rows, self.rss, strict=True):
            if part.ring:
                total += rows * np.log1p(part.lost() / rss)
        return total

    def fit(self) -> Fit:
        """Return the solution with its covariance, each noise with as many degrees of freedom as are left."""
        m = len(self.poles.hz)
        used = np.array([part.columns for part in self.parts])
        free = np.maximum(self.rows - used, 1)
        return Fit(
            self.poles,
            np.asarray(np.linalg.pinv(self._information(free / self.rss), hermitian=True), dtype=float),
            np.array([part.strength for part in self.parts if part.rings]).reshape(self.band.taps, m),
            self.deviance,
            self.losses(),
            np.sqrt(self.rss / free),
            tuple(_complex(part.residual) for part in self.parts),
        )

    def _information(self, weights: Floats) -> Floats:
        total = np.zeros((2 * len(self.poles.hz) + len(self.poles.steady_hz),) * 2)
        for part, weight in zip(self.parts, weights, strict=True):
            slopes = part.slopes()
            total += weight * (slopes.T @ slopes)
        return total


class _Part:
    """The inner problem of one segment: ``residual`` (2b,) is what is left of real and imaginary parts."""

    def __init__(self, band: Band, poles: Poles, k: int) -> None:
        self.rings, self.m = band.rings[k], len(poles.hz)
        self.ring = self.m if self.rings else 0
        self.damping = np.concatenate(
            [poles.damping[: self.ring], np.full(len(poles.steady_hz), _STEADY_DAMPING)]
        )
        s = complex_rates(np.concatenate([poles.hz[: self.ring], poles.steady_hz]), self.damping)
        weights = band.weights[k][:, None]
        self.up, self.slope_up = (weights * c for c in tone_columns(s, band.turns[k], band.lengths[k]))
        self.down, self.slope_down = (
            weights * c for c in tone_columns(s.conj(), band.turns[k], band.lengths[k])
        )
        cosine, sine = (self.up + self.down) / 2, (self.up - self.down) / 2j
        columns = np.hstack([_real(cosine), _real(sine), band.skirts[k]])
        self.columns = columns.shape[1]
        self.size = np.linalg.norm(columns, axis=0)
        self.basis, self.triangle = np.linalg.qr(columns / self.size)
        # tones that coincide leave a zero there: a little keeps their strengths finite
        place = np.diag_indices(self.columns)
        self.triangle[place] += np.where(np.abs(self.triangle[place]) < 1e-9, 1e-9, 0.0)
        data = _real(band.coefficients[k][:, None])[:, 0]
        self.along = self.basis.T @ data
        self.residual = data - self.basis @ self.along
        self.inverse = np.asarray(solve_triangular(self.triangle, np.eye(self.columns)))
        self.sizes = self.inverse @ self.along

    @property
    def amplitudes(self) -> Complexes:
        """Complex strengths (t,) such that a tone is ``a exp(n s) + conj(a exp(n s))``."""
        t = len(self.damping)
        scaled = self.sizes / self.size
        return np.asarray((scaled[:t] - 1j * scaled[t : 2 * t]) / 2)

    @property
    def strength(self) -> Floats:
        """Strengths (m,) of the damped tones at the first sample."""
        return 2 * np.abs(self.amplitudes[: self.ring])

    def slopes(self) -> Floats:
        """Return the derivative (2b, p) of the residual by hz, ln damping and steady hz."""
        a, ring = self.amplitudes, self.ring
        up, down = a * self.slope_up / RATE_HZ, a.conj() * self.slope_down / RATE_HZ
        slopes = np.zeros((len(self.residual), self.m + len(self.damping) + (self.m - ring)))
        by_hz = _real(2j * np.pi * (up - down))
        slopes[:, :ring], slopes[:, 2 * self.m :] = by_hz[:, :ring], by_hz[:, ring:]
        slopes[:, self.m : self.m + ring] = _real(-self.damping[:ring] * (up + down)[:, :ring])
        return np.asarray(self.basis @ (self.basis.T @ slopes) - slopes)

    def lost(self) -> Floats:
        """Return by how much the sum of squares grows (m,) where one damped tone's two columns are left out."""
        t = len(self.damping)
        pairs = np.stack([np.arange(self.ring), t + np.arange(self.ring)], axis=1)
        spread = self.inverse[pairs] @ self.inverse[pairs].transpose(0, 2, 1)
        sizes = self.sizes[pairs]
        return np.asarray((sizes * np.linalg.solve(spread, sizes[..., None])[..., 0]).sum(axis=1))


def _real(columns: Complexes) -> Floats:
    return np.vstack([columns.real, columns.imag])


def _complex(rows: Floats) -> Complexes:
    return np.asarray(rows[: len(rows) // 2] + 1j * rows[len(rows) // 2 :])
