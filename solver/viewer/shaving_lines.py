"""How a shaving moves the node lines: before it dashed, after it solid, and where the wood goes."""

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from solver.advice.shaving import Shaving
from solver.core.units import MM
from solver.modal.node_lines import node_lines
from solver.viewer.captions import how_seen, mode_name
from solver.viewer.colours import INK, INWARD, OUTWARD, PAPER, QUIET_INK
from solver.viewer.key import add_key
from solver.viewer.page_files import save_pages
from solver.viewer.plan_view import add_bar, add_centre_line, add_edges, add_node_lines, lay_out, on_paper

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch

_COLUMNS = 4
_PLAN_INCHES, _TITLE_INCHES, _HEAD_INCHES, _FOOT_INCHES = 2.05, 0.55, 0.75, 0.7
_DASHED = (0, (2.2, 1.0))
_SPOT_COLOUR = "#c9c2b8"


def draw_shaving(shaving: Shaving, count: int, path: Path) -> tuple[Path, ...]:
    """Write the page; raises InputError if the ending is none of png, pdf and svg, or nothing can be written there."""
    return save_pages([shaving_figure(shaving, count)], path)


def shaving_figure(shaving: Shaving, count: int) -> "Figure":
    """Return a page with one plan for each of the first ``count`` tones before."""
    from matplotlib.figure import Figure

    plate = shaving.plate
    xmin, ymin, xmax, ymax = plate.outline.bounds
    columns, rows = max(2, min(count, _COLUMNS)), -(-count // _COLUMNS)
    tall = _PLAN_INCHES * min(2.2, 0.9 * (xmax - xmin) / (ymax - ymin))
    width = max(columns * _PLAN_INCHES, 3 * _PLAN_INCHES)
    height = rows * (tall + _TITLE_INCHES) + _HEAD_INCHES + _FOOT_INCHES
    figure = Figure(figsize=(width, height), facecolor=PAPER)
    for index in range(count):
        row, column = divmod(index, _COLUMNS)
        bottom = height - _HEAD_INCHES - (row + 1) * (tall + _TITLE_INCHES)
        box = (column * _PLAN_INCHES / width, bottom / height, _PLAN_INCHES / width, tall / height)
        _draw_tone(figure.add_axes(box), shaving, index)
    figure.text(0.02, 1 - 0.18 / height, plate.title, fontsize=13, fontweight="bold", color=INK, va="top")
    figure.text(0.02, 1 - 0.46 / height, how_seen(plate.role), fontsize=8.5, color=QUIET_INK, va="top")
    _key(figure, shaving)
    return figure


def _draw_tone(axes: "Axes", shaving: Shaving, index: int) -> None:
    axes.set_axis_off()
    lay_out(axes, shaving.plate.outline)
    clip = add_edges(axes, shaving.plate.outline, width=0.9)
    add_centre_line(axes, shaving.plate.outline)
    add_bar(axes, shaving.plate, width=0.6)
    _add_spots(axes, shaving, clip)
    add_node_lines(axes, node_lines(shaving.after, int(shaving.places[index])), OUTWARD)
    add_node_lines(axes, node_lines(shaving.before, index), INWARD, _DASHED)
    before, after = float(shaving.before.hz[index]), shaving.hz_after(index)
    axes.set_title(mode_name(shaving.before, index), fontsize=11, fontweight="bold", color=INK, pad=15)
    words = axes.text(
        0.5, 1.0, f"{before:.1f} to {after:.1f} Hz", transform=axes.transAxes, fontsize=8.5, color=INK
    )
    words.set(horizontalalignment="center", verticalalignment="bottom")


def _add_spots(axes: "Axes", shaving: Shaving, clip: "Patch") -> None:
    """Show where the wood goes, each hollow with its radius."""
    from matplotlib.patches import Circle

    for hollow in shaving.hollows:
        (u,), (v,) = on_paper(hollow.centre[None])
        spot = Circle((u, v), hollow.radius / MM, facecolor=_SPOT_COLOUR, edgecolor=QUIET_INK, linewidth=0.6)
        axes.add_patch(spot)
        spot.set_clip_path(clip)


def _key(figure: "Figure", shaving: Shaving) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    deepest = float(np.max(shaving.taken)) / MM
    entries = {
        "node line before": Line2D([], [], color=INWARD, linewidth=2.2, linestyle=_DASHED),
        "after": Line2D([], [], color=OUTWARD, linewidth=2.2),
        f"wood taken, {deepest:.2f} mm at the deepest": Patch(facecolor=_SPOT_COLOUR, edgecolor=QUIET_INK),
    }
    add_key(figure, entries)
