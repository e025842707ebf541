"""The graduation as colour, pale where the plate is thin and dark where it is thick, and its readings."""

from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import cKDTree

from meshes.graduation import Graduation
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.viewer.colours import INK, thickness_colours
from solver.viewer.plan_view import PlanGrid, add_halo, on_paper

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.contour import QuadContourSet
    from matplotlib.patches import Patch

_EVEN_MM = 0.05
"""A plate whose thickness varies by less has no contour lines: nobody reads a caliper finer."""
_POINTS_PER_INCH = 72.0
_VALUE_SIZE = 6.0
"""Size of a reading's value [points]."""
_VALUE_BOX = np.array([1.6, 2.6])
"""Height and width of a value with its dot, in units of the size of its letters."""
_LEAST_SHARE = 0.7
"""Values are written where at least this share of them has room; else the dots stand alone."""


def add_graduation(axes: "Axes", graduation: Graduation, grid: PlanGrid, clip: "Patch") -> Floats:
    """Colour the plate by thickness, with numbered contour lines; return the thicknesses drawn [mm]."""
    thickness = grid.field(graduation.at(grid.points) / MM)
    steps = thickness_steps(thickness[grid.inside])
    x, y = grid.x / MM, grid.y / MM
    colours = axes.contourf(y, x, thickness, levels=steps, cmap=thickness_colours(), extend="both", zorder=1)
    colours.set_clip_path(clip)
    lines = axes.contour(y, x, thickness, levels=steps, colors=INK, linewidths=0.5, zorder=2)
    lines.set_clip_path(clip)
    number_lines(axes, lines)
    return np.asarray(thickness[grid.inside])


def number_lines(axes: "Axes", lines: "QuadContourSet") -> None:
    """Write on contour lines what they stand for [mm]."""
    tenths = 10 * np.asarray(lines.levels)
    digits = 0 if np.allclose(tenths % 10, 0) else 1 if np.allclose(tenths, np.round(tenths)) else 2
    for label in axes.clabel(lines, fmt=f"%.{digits}f", fontsize=6.5, colors=INK, zorder=7.5):
        add_halo(label)


def thickness_steps(thickness_mm: Floats) -> Floats:
    """Return round thicknesses [mm] for the contour lines, about eight from the thinnest to the thickest."""
    from matplotlib.ticker import MaxNLocator

    low, high = float(thickness_mm.min()), float(thickness_mm.max())
    if high - low < _EVEN_MM:
        return np.array([low - _EVEN_MM, high + _EVEN_MM])
    return np.asarray(MaxNLocator(nbins=9, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high))


def add_guesses(axes: "Axes", graduation: Graduation, grid: PlanGrid, clip: "Patch") -> bool:
    """Hatch the places where no reading lies near; tell whether there are any."""
    from matplotlib import rc_context

    guess = graduation.is_guess(grid.points).reshape(grid.inside.shape) & grid.inside
    if not guess.any():
        return False
    x, y, field = grid.x / MM, grid.y / MM, grid.field(guess.astype(float))
    with rc_context({"hatch.linewidth": 0.6, "hatch.color": INK}):
        hatched = axes.contourf(y, x, field, levels=[0.5, 1.5], colors="none", hatches=["////"], zorder=3)
    hatched.set_clip_path(clip)
    axes.contour(
        y, x, field, levels=[0.5], colors=INK, linewidths=0.6, linestyles="dotted", zorder=3
    ).set_clip_path(clip)
    return True


def add_dots(axes: "Axes", readings: Floats) -> None:
    """Mark every caliper reading (n, 3) [m]; many dots are small ones, lest they hide the map."""
    size = float(np.clip(45.0 / np.sqrt(len(readings)), 0.7, 2.5))
    axes.plot(*on_paper(readings), linestyle="none", marker="o", markersize=size, color=INK, zorder=7)


def add_values(axes: "Axes", readings: Floats) -> None:
    """Write the caliper's values beside the readings (n, 3) [m], if most of them find room."""
    free = values_with_room(axes, readings)
    if len(free) < _LEAST_SHARE * len(readings):
        return
    values = readings[:, 2] / MM
    digits = 1 if np.allclose(values, np.round(values, 1), atol=1e-6) else 2
    for u, v, value in np.column_stack([*on_paper(readings), values])[free]:
        label = axes.annotate(f"{value:.{digits}f}", (u, v), (0, 2), textcoords="offset points", zorder=8)
        label.set(horizontalalignment="center", fontsize=_VALUE_SIZE)
        add_halo(label)


def values_with_room(axes: "Axes", readings: Floats) -> list[int]:
    """Return which readings (n, 3) [m] have room for their value beside them without touching another."""
    figure = axes.get_figure(root=True)
    assert figure is not None
    height = axes.get_position().height * figure.get_figheight() * _POINTS_PER_INCH
    low, high = axes.get_ylim()
    boxes = readings[:, :2] * height / (high - low) / MM / (_VALUE_SIZE * _VALUE_BOX)
    left_out: set[int] = set()
    for first, second in sorted(cKDTree(boxes).query_pairs(1.0, p=np.inf)):
        if first not in left_out:
            left_out.add(second)
    return [i for i in range(len(readings)) if i not in left_out]
