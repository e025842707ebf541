"""The trend of two figures in the book, plates held against others of their own kind, and what could turn it round."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from solver.advice.trend import LEAST, SURE, Trend, is_turned, trend_of, two_clusters
from solver.commands.book_rows import Row, unit_of

if TYPE_CHECKING:
    from solver.commands.tones import Json

PARTED_BY = ("species", "cut", "stage")
"""Words by which plates of one kind may differ so that it makes a trend."""

HEAPS = "heaps"


@dataclass(frozen=True, eq=False)
class GroupTrend:
    """The plates of one kind that have both figures, with a trend of their own if they can tell one."""

    group: str
    plates: int
    trend: Trend | None


@dataclass(frozen=True, eq=False)
class BookTrend:
    """The trend of ``up`` against ``across`` within the kinds of plates; ``trend`` is None where too few can tell it.

    ``mixed`` is what all of them would show without regard to kinds, where there are several; ``turned_by`` names what else
    parts the plates so that within the parts it goes the other way, with the trend there.
    """

    across: str
    up: str
    trend: Trend | None
    groups: tuple[GroupTrend, ...]
    mixed: Trend | None
    turned_by: tuple[tuple[str, Trend], ...]

    @property
    def is_turned_by_kinds(self) -> bool:
        """Tell whether kinds that differ would show a trend that goes against that of each."""
        return self.mixed is not None and self.trend is not None and is_turned(self.mixed, self.trend)


def book_trend(across: str, up: str, rows: Sequence[Row]) -> BookTrend:
    """Return the trend of two figures over those rows that have both."""
    having = [row for row in rows if {across, up} <= row.figures.keys()]
    x, y = (np.array([row.figures[name].value for row in having]) for name in (across, up))
    groups = [row.group for row in having]
    names = sorted(set(groups))
    within = trend_of(x, y, groups)
    own = []
    for name in names:
        some = np.array([group == name for group in groups])
        own.append(GroupTrend(name, int(some.sum()), trend_of(x[some], y[some])))
    parted = () if within is None else tuple(_turned(within, having, (across, up)))
    return BookTrend(across, up, within, tuple(own), trend_of(x, y) if len(names) > 1 else None, parted)


def _turned(within: Trend, rows: Sequence[Row], figures: tuple[str, str]) -> Iterator[tuple[str, Trend]]:
    """Yield what parts the plates of one kind so that within the parts the trend goes the other way."""
    x, y = (np.array([row.figures[name].value for row in rows]) for name in figures)
    for word in PARTED_BY:
        parts = [f"{row.group}, {getattr(row, word)}" for row in rows]
        finer = trend_of(x, y, parts)
        if finer is not None and is_turned(within, finer):
            yield word, finer
    for values in (x, y):
        finer = trend_of(x, y, _heaps(values, [row.group for row in rows]))
        if finer is not None and is_turned(within, finer):
            yield HEAPS, finer
            return


def _heaps(values: np.ndarray, groups: Sequence[str]) -> list[str]:
    """Return the group of each plate, with the heap in it where the group falls into two."""
    parts = list(groups)
    for name in set(groups):
        own = [place for place, group in enumerate(groups) if group == name]
        for place, heap in zip(own, two_clusters(values[own]) or [""] * len(own), strict=True):
            parts[place] = f"{name}, {heap}"
    return parts


def trend_as_json(told: BookTrend) -> "dict[str, Json]":
    """Return what ``--json`` says of the trend, that of each kind, and that of all mixed."""
    return {
        "trend": None if told.trend is None else {"x": told.across, "y": told.up, **_as_json(told.trend)},
        "groups": [
            {
                "group": one.group,
                "plates": one.plates,
                "trend": None if one.trend is None else _as_json(one.trend),
            }
            for one in told.groups
        ],
        "mixed": None if told.mixed is None else {**_as_json(told.mixed), "turned": told.is_turned_by_kinds},
        "turned_by": [{"what": what, **_as_json(trend)} for what, trend in told.turned_by],
    }


def _as_json(trend: Trend) -> "dict[str, Json]":
    return {
        "plates": trend.n,
        "slope": {"value": trend.slope, "low": trend.slope_low, "high": trend.slope_high},
        "correlation": {"value": trend.r, "low": trend.r_low, "high": trend.r_high},
        "told": trend.is_told,
    }


def said_of_trend(told: BookTrend) -> Iterator[str]:
    """Yield in words what the plates tell of the trend, and what they do not."""
    x, y, trend = told.across, told.up, told.trend
    if trend is None:
        yield f"Too few plates have both {x} and {y} to tell a trend: at least {LEAST} of one kind that differ are needed."
    else:
        kinds = len(told.groups)
        each = f" of {kinds} kinds, each held against the mean of its own kind" if kinds > 1 else ""
        yield (
            f"{y} against {x}, {trend.n} plates{each}: correlation {trend.r:+.2f}, {100 * SURE:g} % interval "
            f"{trend.r_low:+.2f} to {trend.r_high:+.2f}; {_slope(told, trend)}."
        )
        if not trend.is_told:
            yield "That may be chance: no trend at all would often look like this."
    if len(told.groups) > 1:
        yield f"By kind: {'; '.join(_said_of_group(told, one) for one in told.groups)}."
    yield from _warnings(told)


def _slope(told: BookTrend, trend: Trend) -> str:
    units = f"{unit_of(told.up)} per {unit_of(told.across)}"
    return f"{trend.slope:+.3g} {units} ({trend.slope_low:+.3g} to {trend.slope_high:+.3g})"


def _said_of_group(told: BookTrend, one: GroupTrend) -> str:
    plates = f"{one.plates} {one.group}{'s' if one.plates > 1 else ''}"
    if one.trend is None:
        return f"{plates}, too few for a trend of their own" if one.plates < LEAST else f"{plates}, all alike"
    return f"{plates} {_slope(told, one.trend)}"


def _warnings(told: BookTrend) -> Iterator[str]:
    """Yield a sentence for everything that would turn the trend round."""
    if told.is_turned_by_kinds:
        assert told.mixed is not None, "it is turned"
        yield (
            f"Without regard to kinds they would show {_slope(told, told.mixed)}, the other way: that comes of kinds that "
            "differ from each other, not of plates of one kind. Choose one kind with --role and --size to see it alone."
        )
    for what, trend in told.turned_by:
        if what == HEAPS:
            yield (
                f"The plates lie in two heaps, and within each it goes the other way, {_slope(told, trend)}: whatever sets "
                "the heaps apart makes the trend. Look at what else differs between them."
            )
        else:
            yield (
                f"Within one {what} it goes the other way, {_slope(told, trend)}: what parts the plates by {what} makes "
                f"the trend. Choose one with --{what}."
            )
