"""The log of a plate over time: its modes against what is wanted, its mass, and the air they were measured in."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import ArrayLike

from solver.viewer.colours import INK, INWARD, OUTWARD, PAPER, QUIET_INK, damp_colours
from solver.viewer.page_files import save_pages

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDTH, _PANEL, _HEAD, _FOOT = 9.0, 1.75, 1.5, 0.5
"""Inches: of the page, of each panel with its gap, and of what stands above and below them."""

_STRIP = 0.34
_LEAST_SPAN = 0.03
_LEAST_GRAMS = 1.0
_ROOM = 0.18
"""Share of a panel's range that is left free above and below."""

_DRIEST, _DAMPEST = 25.0, 85.0
"""Humidity [%] at either end of the background's colours."""

_LETTERS, _STAGE_LETTERS = 80, 22
"""What the page has room for of a title, which is written smaller, and of a stage, which is cut."""

_INCHES_FOR_WORDS, _INCHES_FOR_FIGURES = 0.22, 0.36
"""Along the page, what stands at one entry needs of room before the next may be written."""

Band = tuple[float, float]


@dataclass(frozen=True)
class Point:
    """A figure at one entry: as measured and, low to high, brought to the room of the stated figures if that is known."""

    at: datetime
    measured: float
    brought: Band | None = None


@dataclass(frozen=True)
class Line:
    """The points of one mode [Hz], of the mass [g], or of tones [Hz] that have no number, oldest first.

    ``wanted`` is what the maker is after.
    """

    words: str
    points: tuple[Point, ...]
    kind: Literal["mode", "mass", "tones"]
    wanted: float | None = None


@dataclass(frozen=True)
class Air:
    """The room at one entry, and how far the plate was."""

    at: datetime
    temperature_c: float | None
    humidity_pct: float | None
    stage: str


@dataclass(frozen=True)
class LogChart:
    """All that is drawn of a log; ``room`` says in words to which room its tones are brought."""

    title: str
    lines: tuple[Line, ...]
    air: tuple[Air, ...]
    room: str | None


def draw_log(chart: LogChart, path: Path) -> tuple[Path, ...]:
    """Write the chart; raises InputError if the name's ending is none of png, pdf and svg, or nothing can be written."""
    return save_pages([log_figure(chart)], path)


def log_figure(chart: LogChart) -> "Figure":
    """Return the page: a strip with the air, a panel for each line, all over the same days."""
    from matplotlib.figure import Figure

    tall = _HEAD + _STRIP + _PANEL * len(chart.lines) + _FOOT
    figure = Figure(figsize=(_WIDTH, tall), facecolor=PAPER)
    share = [_STRIP, *[_PANEL] * len(chart.lines)]
    grid = figure.add_gridspec(
        len(share),
        1,
        left=0.075,
        right=0.925,
        top=1 - _HEAD / tall,
        bottom=_FOOT / tall,
        hspace=0.3,
        height_ratios=share,
    )
    strip, *panels = grid.subplots(sharex=True, squeeze=False)[:, 0]
    start, end = _days(chart.air)
    strip.set_xlim(_day(start), _day(end))
    _draw_air(strip, chart.air, start, end, alpha=1.0)
    _write_air(strip, chart.air)
    for axes, line in zip(panels, chart.lines, strict=True):
        _draw_air(axes, chart.air, start, end, alpha=0.4)
        _draw_line(axes, line)
        _dress(axes)
    _date_days(panels[-1])
    _write_heading(figure, chart, tall)
    return figure


def _day(at: datetime) -> float:
    """Return a moment as matplotlib counts days, from 1970 on."""
    return (at - datetime(1970, 1, 1)) / timedelta(days=1)


def _days(air: Sequence[Air]) -> tuple[datetime, datetime]:
    """Return the first and the last moment that is shown, with a margin."""
    first, last = air[0].at, air[-1].at
    margin = max(timedelta(hours=12), 0.05 * (last - first))
    return first - margin, last + margin


def _draw_air(axes: "Axes", air: Sequence[Air], start: datetime, end: datetime, alpha: float) -> None:
    """Colour each stretch of time by the humidity of the entry that lies in it."""
    colours = damp_colours()
    times = [a.at for a in air]
    between = [one + (other - one) / 2 for one, other in pairwise(times)]
    for a, left, right in zip(air, [start, *between], [*between, end], strict=True):
        if a.humidity_pct is not None:
            damp = (a.humidity_pct - _DRIEST) / (_DAMPEST - _DRIEST)
            axes.axvspan(_day(left), _day(right), color=colours(damp), alpha=alpha, linewidth=0, zorder=0)


def _write_air(axes: "Axes", air: Sequence[Air]) -> None:
    """Write humidity and temperature into the strip and the stages above it, where there is room."""
    axes.set_yticks([])
    axes.spines[:].set_visible(False)
    axes.tick_params(bottom=False, labelbottom=False)
    across = axes.get_xaxis_transform()
    figures = [(a, _room_in_words(a)) for a in air]
    for a, words in _with_room(axes, [(a, words) for a, words in figures if words], _INCHES_FOR_FIGURES):
        axes.text(
            _day(a.at),
            0.5,
            words,
            transform=across,
            fontsize=7,
            color=INK,
            ha="center",
            va="center",
            linespacing=1.05,
        )
    changed = [
        a
        for a, before in zip(air, [None, *air], strict=False)
        if a.stage and (not before or before.stage != a.stage)
    ]
    for a, words in _with_room(axes, [(a, a.stage) for a in changed], _INCHES_FOR_WORDS):
        short = words if len(words) <= _STAGE_LETTERS else f"{words[: _STAGE_LETTERS - 1]}…"
        axes.text(
            _day(a.at),
            1.12,
            short,
            transform=across,
            fontsize=8,
            color=INK,
            rotation=32,
            ha="left",
            va="bottom",
            rotation_mode="anchor",
        )


def _room_in_words(air: Air) -> str:
    damp = "" if air.humidity_pct is None else f"{air.humidity_pct:.0f} %"
    warm = "" if air.temperature_c is None else f"{air.temperature_c:.0f} °C"
    return "\n".join(words for words in (damp, warm) if words)


def _with_room(axes: "Axes", words: Sequence[tuple[Air, str]], inches: float) -> list[tuple[Air, str]]:
    """Return those words that can stand beside each other, the newest before all others."""
    low, high = axes.get_xlim()
    days = inches * (high - low) / (0.85 * _WIDTH)
    kept: list[tuple[Air, str]] = []
    for air, text in reversed(words):
        if not kept or _day(kept[-1][0].at) - _day(air.at) >= days:
            kept.append((air, text))
    return kept


def _draw_line(axes: "Axes", line: Line) -> None:
    """Draw a line: hollow as measured, filled with its band as brought to one room, dashed what is wanted."""
    days = [_day(point.at) for point in line.points]
    brought = [point.brought or (point.measured, point.measured) for point in line.points]
    middles = [0.5 * (low + high) for low, high in brought]
    if line.kind != "tones":  # which of them are the same from day to day is not known
        axes.plot(days, middles, color=INK, linewidth=1.5, zorder=3)
    axes.vlines(days, *zip(*brought, strict=True), color=INK, linewidth=3.5, zorder=3)
    axes.plot(
        days,
        [p.measured for p in line.points],
        "o",
        color=INWARD,
        markersize=6.5,
        markerfacecolor=PAPER,
        zorder=4,
    )
    moved = [place for place, point in enumerate(line.points) if point.brought is not None]
    axes.plot([days[i] for i in moved], [middles[i] for i in moved], "o", color=INK, markersize=3.5, zorder=5)
    if line.wanted is not None:
        axes.axhline(line.wanted, color=OUTWARD, linewidth=1.3, linestyle=(0, (5, 2.5)), zorder=2)
    _set_range(axes, line, brought)
    _name_line(axes, line, brought[-1])


def _set_range(axes: "Axes", line: Line, brought: Sequence[Band]) -> None:
    values = [
        value for point, band in zip(line.points, brought, strict=True) for value in (point.measured, *band)
    ]
    values += [line.wanted] if line.wanted is not None else []
    least = _LEAST_GRAMS if line.kind == "mass" else _LEAST_SPAN * max(values)
    middle, half = 0.5 * (max(values) + min(values)), 0.5 * max(max(values) - min(values), least)
    axes.set_ylim(middle - (1 + 2 * _ROOM) * half, middle + (1 + 2 * _ROOM) * half)


def _name_line(axes: "Axes", line: Line, last: Band) -> None:
    """Name the panel and say how far the last entry is from what is wanted; a scale of cents on the right."""
    axes.set_title(line.words, loc="left", fontsize=10, fontweight="bold", color=INK)
    wanted = line.wanted
    if wanted is None:
        return

    def cents_above(hz: ArrayLike) -> ArrayLike:
        return np.asarray(1200 * np.log2(np.maximum(hz, 1.0) / wanted))

    def hz_at(cents: ArrayLike) -> ArrayLike:
        return np.asarray(wanted * 2 ** (np.asarray(cents) / 1200))

    now = [f"{cents:+.0f}" for cents in np.asarray(cents_above(last))]
    said = now[0] if now[0] == now[1] else " to ".join(now)
    axes.set_title(
        f"wanted {wanted:g} Hz, last {said} cents from it", loc="right", fontsize=8.5, color=OUTWARD
    )
    cents = axes.secondary_yaxis("right", functions=(cents_above, hz_at))
    cents.set_ylabel("cents", fontsize=8.5, color=OUTWARD)
    cents.tick_params(color=OUTWARD, labelcolor=OUTWARD, labelsize=8)


def _dress(axes: "Axes") -> None:
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines[["left", "bottom"]].set_color(QUIET_INK)
    axes.tick_params(color=QUIET_INK, labelcolor=INK, labelsize=8.5)


def _date_days(axes: "Axes") -> None:
    from matplotlib.dates import AutoDateLocator, ConciseDateFormatter

    locator = AutoDateLocator(minticks=3, maxticks=9)  # type: ignore[no-untyped-call]
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(ConciseDateFormatter(locator))  # type: ignore[no-untyped-call]
    axes.tick_params(labelbottom=True)


def _write_heading(figure: "Figure", chart: LogChart, tall: float) -> None:
    """Write the title, and what the marks mean."""
    marks = ["ring: as measured"]
    if chart.room:
        marks.append(f"dot: brought to {chart.room}, from low to high")
    if any(line.wanted is not None for line in chart.lines):
        marks.append("dashed: wanted")
    if any(a.humidity_pct is not None for a in chart.air):
        marks.append("background: the damper the air, the bluer")
    size = 13 * min(1.0, _LETTERS / len(chart.title))
    figure.text(0.03, 1 - 0.18 / tall, chart.title, fontsize=size, fontweight="bold", color=INK, va="top")
    figure.text(0.03, 1 - 0.47 / tall, "; ".join(marks), fontsize=8.5, color=QUIET_INK, va="top")
