"""The trend of one figure with another over many plates, and how sure it is."""

from dataclasses import dataclass

import numpy as np

from solver.arrays import Floats

LEAST = 4
"""Plates from which a correlation has an interval: its standard error is ``1/sqrt(n - 3)``."""

SURE = 0.95
"""Share of repetitions in which an interval holds the true figure."""


@dataclass(frozen=True)
class Trend:
    """The straight line ``y = intercept + slope x`` through ``n`` plates, and the correlation, each with its interval.

    Where no line is ruled out, because a level one is in the interval too, `is_told` is false.
    """

    n: int
    slope: float
    slope_low: float
    slope_high: float
    intercept: float
    r: float
    r_low: float
    r_high: float
    middle: float
    scatter: float
    spread: float
    quantile: float

    @property
    def is_told(self) -> bool:
        """Tell whether the plates show a trend at all, or could come from none."""
        return self.r_low > 0 or self.r_high < 0

    def line(self, x: Floats) -> tuple[Floats, Floats, Floats]:
        """Return the line and its interval, low and high (n,), at ``x`` (n,)."""
        y = self.intercept + self.slope * x
        half = self.quantile * self.scatter * np.sqrt(1 / self.n + ((x - self.middle) / self.spread) ** 2)
        return y, y - half, y + half


def trend_of(x: Floats, y: Floats) -> Trend | None:
    """Return the trend of ``y`` (n,) with ``x`` (n,), or None where fewer than four plates or only one value can tell none.

    Least squares; the slope's interval by Student's t with ``n - 2`` degrees of freedom, that of the correlation by
    Fisher's ``z = artanh r``, normal with ``1/sqrt(n - 3)`` (R. A. Fisher, Metron 1 (1921) 3; from memory). Both are for
    plates scattered evenly about a line; they say nothing of why.
    """
    from scipy.stats import norm, t

    n = len(x)
    if n < LEAST or np.ptp(x) == 0 or np.ptp(y) == 0:
        return None
    dx, dy = x - x.mean(), y - y.mean()
    spread, tall = float(np.sqrt(dx @ dx)), float(np.sqrt(dy @ dy))
    slope = float(dx @ dy) / spread**2
    r = float(np.clip(dx @ dy / (spread * tall), -1.0, 1.0))
    scatter = float(np.sqrt(((dy - slope * dx) ** 2).sum() / (n - 2)))
    quantile = float(t.ppf(0.5 + 0.5 * SURE, n - 2))
    off = quantile * scatter / spread
    z_off = float(norm.ppf(0.5 + 0.5 * SURE)) / np.sqrt(n - 3)
    z = np.arctanh(np.clip(r, -1 + 1e-12, 1 - 1e-12))
    return Trend(
        n=n,
        slope=slope,
        slope_low=slope - off,
        slope_high=slope + off,
        intercept=float(y.mean() - slope * x.mean()),
        r=r,
        r_low=float(np.tanh(z - z_off)),
        r_high=float(np.tanh(z + z_off)),
        middle=float(x.mean()),
        scatter=scatter,
        spread=spread,
        quantile=quantile,
    )
