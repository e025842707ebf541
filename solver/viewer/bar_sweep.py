"""What a bar does, drawn: tones, mass and the lie of the node lines against one dimension of it."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from solver.advice.bar_choice import WantedBar
from solver.advice.bar_trials import BarSweep
from solver.advice.node_balance import off_mirror, ring_shares
from solver.core.atomic_write import whole_folder
from solver.core.units import GRAM, MM
from solver.viewer.bar_node_lines import change_figure
from solver.viewer.captions import side_names
from solver.viewer.colours import INK, INWARD, OUTWARD, PAPER, QUIET_INK
from solver.viewer.page_files import save_pages
from solver.viewer.sheet.content import USUAL_TONES

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SWEEP_FILE, LINES_FILE = "bar.png", "bar-node-lines.png"

_WIDTH, _HEIGHT = 9.0, 8.2
_LETTERS = 80
"""Letters of a title that the page has room for; a longer one is written smaller."""
_LEAST_SPAN = 0.02
"""Least share of a tone that its panel shows, so that a tone which stays does not look as if it moved."""
_LEAST_GRAMS = 0.3
_PLACE_OF_WORDS = 0.6
"""Share of the range up to which words stand to the right of their mark."""
_ROOM = 1.25
"""Height of a panel over the range of what is drawn on it."""


def shown_modes(sweep: BarSweep, wanted: WantedBar | None = None) -> tuple[str, ...]:
    """Return the numbers of the modes that makers tap for and of the one wanted, as far as the plate has them."""
    asked = {*USUAL_TONES, *([wanted.name] if wanted else [])}
    return tuple(name for name in sweep.names if name in asked)


def write_bar_pictures(sweep: BarSweep, wanted: WantedBar | None, folder: Path) -> tuple[Path, ...]:
    """Write both pictures into a folder, made if need be; node lines with the wanted bar, or the one most like the present.

    Raises
    ------
    InputError
        If nothing can be written there; then the folder is as it was before.
    """
    chosen = wanted.trial if wanted else sweep.nearest(sweep.present)
    with whole_folder(folder) as part:
        drawn = (
            *save_pages([sweep_figure(sweep, wanted)], part / SWEEP_FILE),
            *save_pages([change_figure(sweep, chosen, shown_modes(sweep, wanted))], part / LINES_FILE),
        )
    return tuple(folder / path.name for path in drawn)


def sweep_figure(sweep: BarSweep, wanted: WantedBar | None = None) -> "Figure":
    """Return a page with the tones on the left, at one scale in cents, and mass and node lines on the right."""
    from matplotlib.figure import Figure

    names = shown_modes(sweep, wanted)
    figure = Figure(figsize=(_WIDTH, _HEIGHT), facecolor=PAPER)
    grid = figure.add_gridspec(1, 2, left=0.08, right=0.975, top=0.865, bottom=0.075, wspace=0.2)
    left = grid[0].subgridspec(len(names), 1, hspace=0.3).subplots(squeeze=False)[:, 0]
    right = grid[1].subgridspec(3, 1, hspace=0.3).subplots(squeeze=False)[:, 0]
    span = max(_span(sweep, name, wanted) for name in names)
    for axes, name in zip(left, reversed(names), strict=True):
        _draw_tone(axes, sweep, name, wanted if wanted and wanted.name == name else None, span)
    _draw_mass(right[0], sweep)
    _draw_off_mirror(right[1], sweep)
    _draw_ring(right[2], sweep)
    for column in left, right:
        for axes in column:
            _dress(axes, sweep, named=axes is column[-1])
    _write_heading(figure, sweep, names)
    return figure


def _span(sweep: BarSweep, name: str, wanted: WantedBar | None) -> float:
    """Share of a tone over which what is drawn of it goes."""
    hz = [*sweep.hz(name), *([wanted.wanted_hz] if wanted and wanted.name == name and wanted.reached else [])]
    return max(_LEAST_SPAN, float(max(hz) / min(hz)) - 1)


def _draw_tone(axes: "Axes", sweep: BarSweep, name: str, wanted: WantedBar | None, span: float) -> None:
    """Draw a tone's frequency; hollow where its shape has mixed with a neighbour's, a star at the wanted bar."""
    hz = sweep.hz(name)
    clear = np.array([trial.is_clear(name) for trial in sweep.trials])
    axes.plot(sweep.values / MM, hz, color=INK, linewidth=1.6, zorder=3)
    for which, fill in (clear, INK), (~clear, PAPER):
        axes.plot(
            sweep.values[which] / MM, hz[which], "o", markersize=5, color=INK, markerfacecolor=fill, zorder=4
        )
    middle, half = 0.5 * (hz.max() + hz.min()), 0.5 * _ROOM * span
    axes.set_ylim(middle * (1 - half), middle * (1 + half))
    _name(axes, f"mode {name}  [Hz]", f"without a bar {sweep.bare.hz(name):.1f}")
    if wanted is not None:
        _draw_wanted(axes, sweep, wanted)


def _draw_wanted(axes: "Axes", sweep: BarSweep, wanted: WantedBar) -> None:
    """Draw the wanted frequency as a line, and where it is met or most nearly met."""
    axes.axhline(wanted.wanted_hz, color=OUTWARD, linewidth=1.0, linestyle=(0, (5, 2.5)), zorder=2)
    value, hz = wanted.trial.value / MM, wanted.trial.hz(wanted.name)
    axes.plot([value], [hz], "*", markersize=13, color=OUTWARD, markeredgecolor=PAPER, zorder=5)
    words = f"{'' if wanted.reached else 'nearest: '}{value:.1f} mm, {hz:.1f} Hz"
    along = (wanted.trial.value - sweep.values[0]) / (sweep.values[-1] - sweep.values[0])
    # on the side that the curve leaves free
    after = along < _PLACE_OF_WORDS
    under = after == (sweep.hz(wanted.name)[-1] >= sweep.hz(wanted.name)[0])
    offset = (7 if after else -7, -9 if under else 9)
    said = axes.annotate(words, (value, hz), offset, textcoords="offset points", fontsize=8.5, color=INK)
    said.set(horizontalalignment="left" if after else "right", verticalalignment="top" if under else "bottom")
    said.set_bbox({"facecolor": PAPER, "edgecolor": PAPER, "pad": 1.0})


def _draw_mass(axes: "Axes", sweep: BarSweep) -> None:
    mass = np.array([trial.modes.mass for trial in sweep.trials]) / GRAM
    axes.plot(sweep.values / MM, mass, "o-", color=INK, linewidth=1.6, markersize=5)
    middle, half = 0.5 * (mass.max() + mass.min()), 0.5 * _ROOM * max(float(np.ptp(mass)), _LEAST_GRAMS)
    axes.set_ylim(middle - half, middle + half)
    _name(axes, "mass with the bar  [g]", f"without a bar {sweep.bare.modes.mass / GRAM:.1f}")


def _draw_off_mirror(axes: "Axes", sweep: BarSweep) -> None:
    """Draw how far [mm] the node lines of modes 2 and 5 lie from their mirror image."""
    for name, colour in ("2", INWARD), ("5", OUTWARD):
        if name in sweep.names:
            off = [off_mirror(trial.modes, trial.place(name)) / MM for trial in (sweep.bare, *sweep.trials)]
            _draw_line(axes, sweep, off, f"mode {name}", colour)
    axes.set_ylim(bottom=0)
    _name(axes, "node lines off  [mm]", "")


def _draw_ring(axes: "Axes", sweep: BarSweep) -> None:
    """Draw how much [%] of either half of the plate lies inside the ring of mode 5."""
    if "5" in sweep.names:
        shares = [ring_shares(trial.modes, trial.place("5")) for trial in (sweep.bare, *sweep.trials)]
        left, right = side_names(sweep.plate.role)
        _draw_line(axes, sweep, [100 * share.left for share in shares], left, INWARD)
        _draw_line(axes, sweep, [100 * share.right for share in shares], right, OUTWARD)
    _name(axes, "inside the ring  [%]", "")


def _draw_line(axes: "Axes", sweep: BarSweep, values: Sequence[float], words: str, colour: str) -> None:
    """Draw values (r + 1): dotted the first, which is that without a bar, then those of the trials; named above."""
    axes.axhline(values[0], color=colour, linewidth=1.3, linestyle=(0, (1, 1.5)), zorder=2)
    axes.plot(sweep.values / MM, values[1:], "o-", color=colour, linewidth=1.6, markersize=5, label=words)
    axes.legend(
        loc="lower right",
        bbox_to_anchor=(1.02, 1.0),
        borderaxespad=0.0,
        ncols=2,
        columnspacing=1.0,
        handlelength=1.2,
        frameon=False,
        fontsize=8.5,
        labelcolor=INK,
    )


def _name(axes: "Axes", words: str, aside: str) -> None:
    axes.set_title(words, loc="left", fontsize=10, fontweight="bold", color=INK)
    axes.set_title(aside, loc="right", fontsize=8.5, color=QUIET_INK)


def _dress(axes: "Axes", sweep: BarSweep, named: bool) -> None:
    """Quiet the axes, mark the bar to begin with, and name the dimension where asked."""
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines[["left", "bottom"]].set_color(QUIET_INK)
    axes.tick_params(color=QUIET_INK, labelcolor=INK, labelsize=8.5)
    axes.grid(visible=True, color="#e4dfd8", linewidth=0.6)
    axes.set_axisbelow(True)
    low, high = sweep.values.min() / MM, sweep.values.max() / MM
    margin = 0.04 * (high - low)
    axes.set_xlim(low - margin, high + margin)
    if low <= sweep.present / MM <= high:
        across = axes.get_xaxis_transform()
        axes.plot(
            [sweep.present / MM], [0.0], "^", color=QUIET_INK, markersize=9, clip_on=False, transform=across
        )
    if named:
        axes.set_xlabel(f"{sweep.dimension.words}  [mm]", fontsize=9.5, color=INK)


def _write_heading(figure: "Figure", sweep: BarSweep, names: Sequence[str]) -> None:
    """Write the title, and what the marks mean."""
    shown = "tones, at one scale in cents; node lines off their mirror image; share of each half inside the ring of mode 5"
    marks = ["dotted: without a bar"]
    if sweep.values.min() <= sweep.present <= sweep.values.max():
        marks.append("triangle: the bar to begin with")
    if not all(trial.is_clear(name) for trial in sweep.trials for name in names):
        marks.append("hollow: mixed with a neighbour")
    title = f"{sweep.plate.title}: {sweep.dimension.words}"
    size = 13 * min(1.0, _LETTERS / len(title))
    figure.text(0.03, 1 - 0.18 / _HEIGHT, title, fontsize=size, fontweight="bold", color=INK, va="top")
    figure.text(0.03, 1 - 0.47 / _HEIGHT, shown, fontsize=8.5, color=QUIET_INK, va="top")
    figure.text(0.03, 1 - 0.64 / _HEIGHT, "; ".join(marks), fontsize=8.5, color=QUIET_INK, va="top")
