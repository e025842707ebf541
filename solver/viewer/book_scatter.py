"""Two figures of many plates against each other, with the trend and how sure it is."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np

from solver.advice.trend import Trend
from solver.viewer.colours import INK, INWARD, OUTWARD, PAPER, QUIET_INK
from solver.viewer.page_files import save_pages

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDTH, _HEIGHT = 8.0, 6.6
_LETTERS = 108
_NAMED = 12
"""Up to so many dots are named."""

_KINDS = {"top": ("o", OUTWARD), "back": ("s", INWARD), "panel": ("^", QUIET_INK)}
_FILLED: dict[str, Literal["full", "none", "left"]] = {"violin": "full", "viola": "none", "cello": "left"}
"""How a dot is filled, by the size of the instrument."""
_MANY = 60


@dataclass(frozen=True)
class Dot:
    """One plate: low, middle and high of either figure; its ``role`` and of which instrument it is by its ``size``."""

    name: str
    role: str
    size: str
    across: tuple[float, float, float]
    up: tuple[float, float, float]


@dataclass(frozen=True)
class Scatter:
    """What is drawn: the plates, their trend if one can be told, and what is said of it."""

    title: str
    across: str
    up: str
    dots: tuple[Dot, ...]
    trend: Trend | None
    said: tuple[str, ...]


def draw_scatter(scatter: Scatter, path: Path) -> tuple[Path, ...]:
    """Write the picture; raises InputError if the name's ending is none of png, pdf and svg, or nothing can be written."""
    return save_pages([scatter_figure(scatter)], path)


def scatter_figure(scatter: Scatter) -> "Figure":
    """Return the page: dots by kind with their bands, the trend with its interval, dashed where it may be chance."""
    from matplotlib.figure import Figure

    said = [line for text in scatter.said for line in textwrap.wrap(text, _LETTERS)]
    figure = Figure(figsize=(_WIDTH, _HEIGHT), facecolor=PAPER)
    head = 0.6 + 0.17 * len(said)
    axes = figure.add_axes((0.1, 0.09, 0.87, 1 - 0.09 - head / _HEIGHT))
    _draw_dots(axes, scatter)
    if scatter.trend is not None:
        _draw_trend(axes, scatter, scatter.trend)
    axes.set_xlabel(scatter.across, fontsize=9.5, color=INK)
    axes.set_ylabel(scatter.up, fontsize=9.5, color=INK)
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines[["left", "bottom"]].set_color(QUIET_INK)
    axes.tick_params(color=QUIET_INK, labelcolor=INK, labelsize=8.5)
    figure.text(0.03, 1 - 0.16 / _HEIGHT, scatter.title, fontsize=13, fontweight="bold", color=INK, va="top")
    figure.text(
        0.03, 1 - 0.43 / _HEIGHT, "\n".join(said), fontsize=8.5, color=QUIET_INK, va="top", linespacing=1.3
    )
    return figure


def _draw_dots(axes: "Axes", scatter: Scatter) -> None:
    few = len(scatter.dots) <= _MANY
    groups = _groups(scatter.dots)
    for (role, size), dots in groups.items():
        mark, colour = _KINDS[role]
        x, y = np.array([dot.across for dot in dots]), np.array([dot.up for dot in dots])
        if few:
            axes.hlines(y[:, 1], x[:, 0], x[:, 2], color=colour, alpha=0.4, linewidth=1.2)
            axes.vlines(x[:, 1], y[:, 0], y[:, 2], color=colour, alpha=0.4, linewidth=1.2)
        filled = _FILLED.get(size, "full")
        axes.plot(
            x[:, 1],
            y[:, 1],
            mark,
            color=colour,
            markersize=7.0 if few else 4.0,
            fillstyle=filled,
            markeredgecolor=PAPER if filled == "full" else colour,
            markeredgewidth=0.5 if filled == "full" else 1.3,
            label=f"{size} {role}s".strip(),
        )
    if len(groups) > 1:
        axes.legend(frameon=False, fontsize=9, labelcolor=INK, loc="best")
    if len(scatter.dots) <= _NAMED:
        _name_dots(axes, scatter.dots)


def _groups(dots: Sequence[Dot]) -> dict[tuple[str, str], list[Dot]]:
    """Return the dots by role and size, tops first, small ones first; panels are of no instrument."""
    keys = [(role, size) for role in _KINDS for size in (*_FILLED, "") if role != "panel"] + [("panel", "")]
    by_kind = {
        key: [dot for dot in dots if (dot.role, "" if dot.role == "panel" else dot.size) == key]
        for key in keys
    }
    return {key: own for key, own in by_kind.items() if own}


def _name_dots(axes: "Axes", dots: Sequence[Dot]) -> None:
    """Name the dots, to the side on which there is more room."""
    low, high = axes.get_xlim()
    for dot in dots:
        after = dot.across[1] < 0.5 * (low + high)
        said = axes.annotate(
            dot.name, (dot.across[1], dot.up[1]), (6 if after else -6, 5), textcoords="offset points"
        )
        said.set(fontsize=8, color=INK, horizontalalignment="left" if after else "right")


def _draw_trend(axes: "Axes", scatter: Scatter, trend: Trend) -> None:
    """Draw the line with its interval, of plates of several kinds one line for each through its own mean."""
    dash: tuple[int, tuple[int, int]] | str = "-" if trend.is_told else (0, (5, 3))
    groups = _groups(scatter.dots)
    if len(groups) > 1:
        for (role, _), dots in groups.items():
            across, up = (np.array([getattr(dot, way)[1] for dot in dots]) for way in ("across", "up"))
            ends = np.array([across.min(), across.max()])
            line = up.mean() + trend.slope * (ends - across.mean())
            axes.plot(ends, line, color=_KINDS[role][1], linewidth=1.5, linestyle=dash, zorder=1)
        return
    x = np.linspace(*axes.get_xlim(), 60)
    y, low, high = trend.line(x)
    axes.fill_between(x, low, high, color=QUIET_INK, alpha=0.15, linewidth=0, zorder=0)
    axes.plot(x, y, color=INK, linewidth=1.5, linestyle=dash, zorder=1)
    axes.set_xlim(x[0], x[-1])
