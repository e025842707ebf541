"""A carving plan drawn in plan: how deep to go where, in steps of a tenth of a millimetre."""

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from solver.advice.carving_plan import CarvingPlan
from solver.advice.fitted_tones import MASS
from solver.core.units import GRAM, MM
from solver.plate.mode_label import key_called
from solver.viewer.captions import how_seen
from solver.viewer.colours import INK, PAPER, QUIET_INK, REMOVAL
from solver.viewer.graduation_map import add_guesses, number_lines
from solver.viewer.page_files import save_pages
from solver.viewer.plan_view import (
    PlanGrid,
    add_bar,
    add_centre_line,
    add_edges,
    add_halo,
    add_ruler,
    lay_out,
    plan_grid,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.colors import Colormap
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch

STEP_MM = 0.1

_TALL = 8.2
_MARGIN, _HEAD, _FOOT = 0.6, 1.05, 1.4
_LEAST_MM = 0.02
"""Less wood than this is not drawn: nobody planes it on purpose."""


def figure_words(name: str) -> tuple[str, str, float]:
    """Return what a figure is called, its unit, and the unit in SI."""
    return ("mass", "g", GRAM) if name == MASS else (key_called(name), "Hz", 1.0)


def draw_plan(plan: CarvingPlan, path: Path) -> tuple[Path, ...]:
    """Write the picture of a plan.

    Raises
    ------
    InputError
        If the name's ending is none of png, pdf and svg, or nothing can be written there.
    """
    return save_pages([plan_figure(plan)], path)


def plan_figure(plan: CarvingPlan) -> "Figure":
    """Return a page with the removal in colour and numbered lines, and the thickness that it leaves as thin ones."""
    from matplotlib.figure import Figure

    plate = plan.before.plate
    xmin, ymin, xmax, ymax = plate.outline.bounds
    wide = _TALL * (ymax - ymin + 0.06 * (xmax - xmin)) / (1.06 * (xmax - xmin))
    width, height = max(wide + 2 * _MARGIN, 5.6), _TALL + _HEAD + _FOOT
    figure = Figure(figsize=(width, height), facecolor=PAPER)
    axes = figure.add_axes(((width - wide) / 2 / width, _FOOT / height, wide / width, _TALL / height))
    lay_out(axes, plate.outline)
    add_ruler(axes, plate)
    grid = plan_grid(plate.outline)
    clip = add_edges(axes, plate.outline)
    add_bar(axes, plate)
    add_centre_line(axes, plate.outline)
    _add_removal(axes, plan, grid, clip)
    guesses = add_guesses(axes, plate.graduation, grid, clip)
    _write(figure, plan, guesses)
    return figure


def _add_removal(axes: "Axes", plan: CarvingPlan, grid: PlanGrid, clip: "Patch") -> None:
    """Colour the steps of removal, number their lines, and mark the deepest place."""
    depth = grid.field(plan.taken.at(grid.points) / MM)
    most = float(plan.removed.max() / MM)
    if most < _LEAST_MM:
        return
    levels = np.array([_LEAST_MM, *np.arange(STEP_MM, most + STEP_MM, STEP_MM)])
    x, y = grid.x / MM, grid.y / MM
    colours = axes.contourf(y, x, depth, levels=levels, cmap=_blues(), zorder=1)
    colours.set_clip_path(clip)
    lines = axes.contour(y, x, depth, levels=levels[1:], colors=INK, linewidths=0.6, zorder=4)
    lines.set_clip_path(clip)
    number_lines(axes, lines)
    deepest_x, deepest_y = plan.points[plan.removed.argmax()] / MM
    axes.plot([deepest_y], [deepest_x], "+", color=INK, markersize=9, zorder=8)
    words = axes.annotate(
        f"{most:.2f}", (deepest_y, deepest_x), (6, 5), textcoords="offset points", fontsize=8, zorder=8
    )
    add_halo(words)


def _blues() -> "Colormap":
    from matplotlib.colors import LinearSegmentedColormap

    return LinearSegmentedColormap.from_list("removal", REMOVAL)


def _write(figure: "Figure", plan: CarvingPlan, guesses: bool) -> None:
    """Write the heading, the wishes, and what the marks mean."""
    height, width = figure.get_figheight(), figure.get_figwidth()
    left, plate = 0.3 / width, plan.before.plate
    figure.text(left, 1 - 0.15 / height, plate.title, fontsize=13, fontweight="bold", color=INK, va="top")
    seen = f"wood to take from the inside, {how_seen(plate.role)}"
    figure.text(left, 1 - 0.42 / height, seen, fontsize=8.5, color=QUIET_INK, va="top")
    figure.text(left, 1 - 0.62 / height, _figures(plan), fontsize=8.5, color=INK, va="top")
    said = [
        f"lines and colours: depth to take in steps of {STEP_MM:g} mm; +: the deepest place"
        if plan.removed.max() > _LEAST_MM * MM
        else "nothing to take",
        f"thinnest afterwards: {plan.left.min() / MM:.2f} mm; taken altogether: "
        f"{(plan.before.modes.mass - plan.after.modes.mass) / GRAM:.1f} g",
        "a prediction: take half at most, then weigh, tap, log, and plan again",
    ]
    if guesses:
        said.append("hatched: the thickness is a guess, no reading near; measure before you cut")
    figure.text(left, 0.55 / height, "\n".join(said), fontsize=8.5, color=INK, va="center", linespacing=1.4)


def _figures(plan: CarvingPlan) -> str:
    """Write what becomes of the wishes."""
    parts = []
    for figure in plan.figures:
        if figure.wanted is not None:
            name, unit, per = figure_words(figure.name)
            parts.append(
                f"{name} {figure.now / per:.1f} to {figure.planned / per:.1f} {unit} (wanted {figure.wanted / per:.1f})"
            )
    return "\n".join(parts[:3]) + (f"\nand {len(parts) - 3} more" if len(parts) > 3 else "")
