"""How a bar moves the node lines: without it dashed, with it solid."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from solver.advice.bar_trials import BarSweep, BarTrial
from solver.core.units import MM
from solver.modal.node_lines import node_lines
from solver.plate.bar import Bar
from solver.viewer.captions import how_seen
from solver.viewer.colours import INK, INWARD, OUTWARD, PAPER, QUIET_INK, WOOD
from solver.viewer.key import add_key
from solver.viewer.plan_view import add_centre_line, add_edges, add_node_lines, lay_out, on_paper

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_PLAN_INCHES, _HEAD_INCHES, _TITLE_INCHES, _FOOT_INCHES = 2.7, 0.75, 0.6, 0.5
_DASHED = (0, (3.5, 1.6))


def change_figure(sweep: BarSweep, trial: BarTrial, names: Sequence[str]) -> "Figure":
    """Return a page with one plan for each of the numbered modes: its node lines without a bar and with that of a trial."""
    from matplotlib.figure import Figure

    xmin, ymin, xmax, ymax = sweep.plate.outline.bounds
    tall = _PLAN_INCHES * min(2.2, (xmax - xmin) / (ymax - ymin))
    width = _PLAN_INCHES * max(2, len(names))
    height = tall + _HEAD_INCHES + _TITLE_INCHES + _FOOT_INCHES
    figure = Figure(figsize=(width, height), facecolor=PAPER)
    for place, name in enumerate(names):
        share = 1 / len(names)
        axes = figure.add_axes((place * share, _FOOT_INCHES / height, share, tall / height))
        _draw_plan(axes, sweep, trial, name)
    bar = f"with it, {sweep.dimension.words} {trial.value / MM:.1f} mm"
    figure.text(
        0.03, 1 - 0.18 / height, sweep.plate.title, fontsize=13, fontweight="bold", color=INK, va="top"
    )
    figure.text(0.03, 1 - 0.47 / height, how_seen(sweep.plate.role), fontsize=8.5, color=QUIET_INK, va="top")
    _key(figure, bar)
    return figure


def _draw_plan(axes: "Axes", sweep: BarSweep, trial: BarTrial, name: str) -> None:
    """Draw outline, bar and a mode's node lines, and what it sounds without and with the bar."""
    axes.set_axis_off()
    lay_out(axes, sweep.plate.outline)
    add_edges(axes, sweep.plate.outline, width=0.9)
    add_centre_line(axes, sweep.plate.outline)
    assert trial.bar is not None, "a trial with a bar"
    _add_glued_bar(axes, trial.bar)
    bare = sweep.bare
    add_node_lines(axes, node_lines(bare.modes, bare.place(name)), INWARD, _DASHED)
    add_node_lines(axes, node_lines(trial.modes, trial.place(name)), OUTWARD)
    axes.set_title(f"mode {name}", fontsize=11, fontweight="bold", color=INK, pad=15)
    tones = f"{sweep.bare.hz(name):.1f} to {trial.hz(name):.1f} Hz"
    words = axes.text(0.5, 1.0, tones, transform=axes.transAxes, fontsize=8.5, color=INK)
    words.set(horizontalalignment="center", verticalalignment="bottom")


def _add_glued_bar(axes: "Axes", bar: Bar) -> None:
    from matplotlib.patches import Polygon

    corners = np.column_stack(on_paper(bar.footprint))
    axes.add_patch(Polygon(corners, closed=True, facecolor=WOOD, edgecolor=INK, linewidth=0.5, zorder=5))


def _key(figure: "Figure", with_bar: str) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    entries = {
        "node line without a bar": Line2D([], [], color=INWARD, linewidth=2.2, linestyle=_DASHED),
        with_bar: Line2D([], [], color=OUTWARD, linewidth=2.2),
        "bar, underneath": Patch(facecolor=WOOD, edgecolor=INK, linewidth=0.5),
    }
    add_key(figure, entries)
