"""The trend of one figure with another over many plates, and how sure it is."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats

LEAST = 4
"""Plates from which a correlation has an interval: its standard error is ``1/sqrt(n - 3)``."""

_HEAP, _GAP = 3, 0.5
"""Plates that make a heap, and the width of the gap between two over the distance of their means."""

SURE = 0.95
"""Share of repetitions in which an interval holds the true figure."""


@dataclass(frozen=True)
class Trend:
    """The straight line ``y = intercept + slope x`` through ``n`` plates, and the correlation, each with its interval.

    Of plates in groups slope and correlation are those within the groups. Where no line is ruled out, because a level
    one is in the interval too, `is_told` is false.
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


def trend_of(x: Floats, y: Floats, groups: Sequence[str] | None = None) -> Trend | None:
    """Return the trend of ``y`` (n,) with ``x`` (n,), or None where fewer than four plates or only one value can tell none.

    Least squares; the slope's interval by Student's t with ``n - 2`` degrees of freedom, that of the correlation by
    Fisher's ``z = artanh r``, normal with ``1/sqrt(n - 3)`` (R. A. Fisher, Metron 1 (1921) 3; from memory). Both are for
    plates scattered evenly about a line; they say nothing of why.

    With ``groups`` (n,) every plate is held against the mean of its own group, so that what groups differ by makes no
    trend: one slope for all, a line for each (the analysis of covariance), a degree of freedom less for each group more.
    """
    from scipy.stats import norm, t

    if groups is None:
        groups = [""] * len(x)
    dx, dy = (_from_means(values, groups) for values in (x, y))
    n = len(x) - len(set(groups)) + 1
    if n < LEAST or _is_one_value(dx, x) or _is_one_value(dy, y):
        return None
    spread, tall = float(np.sqrt(dx @ dx)), float(np.sqrt(dy @ dy))
    slope = float(dx @ dy) / spread**2
    r = float(np.clip(dx @ dy / (spread * tall), -1.0, 1.0))
    scatter = float(np.sqrt(((dy - slope * dx) ** 2).sum() / (n - 2)))
    quantile = float(t.ppf(0.5 + 0.5 * SURE, n - 2))
    off = quantile * scatter / spread
    z_off = float(norm.ppf(0.5 + 0.5 * SURE)) / np.sqrt(n - 3)
    z = np.arctanh(np.clip(r, -1 + 1e-12, 1 - 1e-12))
    return Trend(
        n=len(x),
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


def _from_means(values: Floats, groups: Sequence[str]) -> Floats:
    """Return by how much (n,) each value lies over the mean of its group."""
    _, group = np.unique(np.array(groups, dtype=np.str_), return_inverse=True)
    means = np.bincount(group, values) / np.maximum(np.bincount(group), 1)
    return np.asarray(values - means[group])


def _is_one_value(off: Floats, values: Floats) -> bool:
    return bool(np.abs(off).max(initial=0.0) <= 1e-12 * np.abs(values).max(initial=0.0))


def is_turned(trend: Trend, within: Trend) -> bool:
    """Tell whether plates held against their own group's mean go the other way, and either of the two is no chance.

    What lies in groups may show a trend that none of the groups has (E. H. Simpson, J. R. Statist. Soc. B 13 (1951) 238;
    from memory).
    """
    return trend.slope * within.slope < 0 and (trend.is_told or within.is_told)


def two_clusters(values: Floats) -> tuple[str, ...] | None:
    """Return in which of two heaps each value (n,) lies, parted at the widest gap; None where that parts off no heap.

    A gap counts if it is wider than half the way between the means of the two, and each has three plates at least.
    """
    order = np.sort(values)
    if len(order) < 2 * _HEAP:
        return None
    gaps = np.diff(order)[_HEAP - 1 : len(order) - _HEAP]
    place = int(gaps.argmax()) + _HEAP
    if gaps.max() < _GAP * (order[place:].mean() - order[:place].mean()):
        return None
    return tuple("high" if value >= order[place] else "low" for value in values)
