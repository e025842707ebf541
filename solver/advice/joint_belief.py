"""Parameters and tones believed in together: a normal law, made narrower by everything that is measured."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import block_diag

from solver.core.arrays import Floats, Ints, freeze


@dataclass(frozen=True, eq=False)
class Belief:
    """A normal law of n quantities: ``mean`` (n,), ``covariance`` (n, n)."""

    mean: Floats
    covariance: Floats

    def __post_init__(self) -> None:
        n = len(self.mean)
        freeze(self, mean=((n,), float), covariance=((n, n), float))

    def given(self, seen: "Seen") -> "Belief":
        """Return the law after something was seen of it.

        ``gain = C H^T S^-1``, ``mean + gain (y - H mean)``, ``C - gain S gain^T`` with ``S = H C H^T + R``: the
        normal law's rule for conditions, the same as least squares with the old law as one more measurement.
        """
        to_seen = self.covariance @ seen.rows.T
        gain = np.linalg.solve(seen.surprise_covariance(self), to_seen.T).T
        covariance = self.covariance - gain @ to_seen.T
        return Belief(self.mean + gain @ seen.surprise(self), 0.5 * (covariance + covariance.T))

    def part(self, rows: Floats, constant: Floats) -> "Belief":
        """Return the law of ``rows x + constant``."""
        return Belief(rows @ self.mean + constant, rows @ self.covariance @ rows.T)


@dataclass(frozen=True, eq=False)
class Seen:
    """Measurements ``y = H x + noise``: ``values`` y (r,), ``rows`` H (r, n), ``noise`` (r, r) its covariance."""

    values: Floats
    rows: Floats
    noise: Floats

    def __post_init__(self) -> None:
        r = len(self.values)
        freeze(self, values=((r,), float), rows=((r, None), float), noise=((r, r), float))

    def surprise(self, belief: Belief) -> Floats:
        """Return by how much (r,) the values are off from what was believed."""
        return np.asarray(self.values - self.rows @ belief.mean)

    def surprise_covariance(self, belief: Belief) -> Floats:
        """Return the covariance (r, r) that this should have."""
        return np.asarray(self.rows @ belief.covariance @ self.rows.T + self.noise)

    def evidence(self, belief: Belief) -> float:
        """Return the logarithm of how probable the values were, but for a constant: ``-(v^T S^-1 v + ln det S)/2``."""
        covariance, miss = self.surprise_covariance(belief), self.surprise(belief)
        return -0.5 * float(miss @ np.linalg.solve(covariance, miss) + np.linalg.slogdet(covariance)[1])

    def some(self, which: Ints) -> "Seen":
        """Return a part of the measurements."""
        return Seen(self.values[which], self.rows[which], self.noise[np.ix_(which, which)])

    def deleted(self, belief: Belief) -> tuple[Floats, Floats]:
        """Return by how much all the others miss each value (r,), and the standard deviation (r,) of that.

        With the surprise v and its covariance S these are ``(S^-1 v)_i / (S^-1)_ii`` and ``1 / sqrt((S^-1)_ii)`` (R.
        D. Cook and S. Weisberg, Residuals and Influence in Regression, 1982; from memory).
        """
        inverse = np.linalg.inv(self.surprise_covariance(belief))
        return np.asarray(inverse @ self.surprise(belief) / np.diag(inverse)), np.diag(inverse) ** -0.5


MOST_SURPRISE = 2.5
"""Standard deviations up to which a tone counts in full; beyond, its noise is taken for so much larger (Huber's
bound; P. J. Huber, Ann. Math. Statist. 35 (1964) 73)."""


def tempered(belief: Belief, seen: Seen, tones: Ints) -> Seen:
    """Return the measurements with more noise for those of the ``tones`` that the others do not bear out.

    The one that stands off most is tempered first, so that it does not make others look wrong; until none stands off by
    more than 2.5 standard deviations.
    """
    noise = np.array(seen.noise)
    for _ in range(2 * len(tones)):
        now = Seen(seen.values, seen.rows, noise)
        miss, spread = now.deleted(belief)
        off = np.abs(miss[tones]) / spread[tones]
        if not len(tones) or off.max() <= MOST_SURPRISE * (1 + 1e-6):
            break
        worst = tones[int(off.argmax())]
        noise[worst, worst] += (miss[worst] / MOST_SURPRISE) ** 2 - spread[worst] ** 2
    return Seen(seen.values, seen.rows, noise)


def side_by_side(blocks: Sequence[Floats]) -> Floats:
    """Stack factors (k_i, c_i) of several plates' tones, each plate's in columns of its own."""
    return np.asarray(block_diag(*blocks), np.float64)


def in_common(blocks: Sequence[Floats]) -> Floats:
    """Stack factors (k_i, c_i) of several plates' tones in the same columns; a plate may have fewer."""
    wide = max(block.shape[1] for block in blocks)
    return np.vstack([np.pad(block, ((0, 0), (0, wide - block.shape[1]))) for block in blocks])
