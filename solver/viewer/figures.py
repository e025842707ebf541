"""The plate as it was understood, and its graduation, drawn in plan for the eye to check."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from solver.core.arrays import Floats
from solver.core.units import MM
from solver.plate.plate import Plate
from solver.viewer.captions import how_seen
from solver.viewer.colours import CUT_EDGE, INK, PAPER, QUIET_INK
from solver.viewer.graduation_map import add_dots, add_graduation, add_guesses, add_values, number_lines
from solver.viewer.page_files import save_pages
from solver.viewer.plan_view import (
    PlanGrid,
    add_bar,
    add_centre_line,
    add_edges,
    add_ruler,
    lay_out,
    plan_grid,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SMALL_PLAN, _LARGE_PLAN = 6.2, 8.6
"""Height of a plan [inches] where two stand side by side, and where it has the page to itself."""
_MARGIN, _HEAD, _FOOT = 0.6, 0.85, 1.0
_FLAT_MM = 0.05


def draw_check(plate: Plate, path: Path) -> tuple[Path, ...]:
    """Write the plate as it was understood: edge, holes, bar and arch on the left, graduation on the right.

    Raises
    ------
    InputError
        If the name's ending is none of png, pdf and svg, or nothing can be written there.
    """
    return save_pages([check_figure(plate)], path)


def draw_graduation(plate: Plate, path: Path) -> tuple[Path, ...]:
    """Write the graduation map with the readings on it; raises InputError as draw_check."""
    return save_pages([graduation_figure(plate)], path)


def check_figure(plate: Plate) -> "Figure":
    """Return the page that draw_check writes."""
    figure, (left, right) = _page(plate, 2, _SMALL_PLAN, "the plate as it was understood")
    grid = plan_grid(plate.outline)
    _draw_form(left, plate, grid)
    _draw_graduation(right, plate, grid, values=False)
    return figure


def graduation_figure(plate: Plate) -> "Figure":
    """Return the page that draw_graduation writes."""
    figure, (axes,) = _page(plate, 1, _LARGE_PLAN, "graduation")
    _draw_graduation(axes, plate, plan_grid(plate.outline), values=True)
    return figure


def graduation_on(axes: "Axes", plate: Plate) -> None:
    """Draw the graduation map on empty axes, with a dot where a reading was taken."""
    lay_out(axes, plate.outline)
    add_ruler(axes, plate)
    _draw_graduation(axes, plate, plan_grid(plate.outline), values=False)


def _page(plate: Plate, plans: int, tall: float, subject: str) -> tuple["Figure", list["Axes"]]:
    """Return an empty page with a heading and ``plans`` plans side by side, each ``tall`` inches high."""
    from matplotlib.figure import Figure

    xmin, ymin, xmax, ymax = plate.outline.bounds
    wide = tall * (ymax - ymin + 0.06 * (xmax - xmin)) / (1.06 * (xmax - xmin))
    width, height = plans * (wide + _MARGIN + 0.25), tall + _HEAD + _FOOT
    figure = Figure(figsize=(width, height), facecolor=PAPER)
    boxes = [(_MARGIN + n * (wide + _MARGIN + 0.25), _FOOT, wide, tall) for n in range(plans)]
    plan_axes = [figure.add_axes(tuple(np.array(box) / [width, height, width, height])) for box in boxes]
    for axes in plan_axes:
        lay_out(axes, plate.outline)
        add_ruler(axes, plate)
    at_left = _MARGIN / width
    figure.text(at_left, 1 - 0.15 / height, plate.title, fontsize=13, fontweight="bold", color=INK, va="top")
    words = f"{subject}, {how_seen(plate.role)}"
    figure.text(at_left, 1 - 0.42 / height, words, fontsize=8.5, color=QUIET_INK, va="top")
    return figure, plan_axes


def _draw_form(axes: "Axes", plate: Plate, grid: PlanGrid) -> None:
    """Draw edge, holes, bar, centre line and the arch's contour lines with their heights."""
    clip = add_edges(axes, plate.outline)
    add_bar(axes, plate)
    add_centre_line(axes, plate.outline)
    height = grid.field(plate.arch.at(grid.points).height / MM)
    low, high = float(height[grid.inside].min()), float(height[grid.inside].max())
    said = ["flat, no arch"]
    if high - low > _FLAT_MM:
        levels = height_steps(low, high)
        lines = axes.contour(grid.y / MM, grid.x / MM, height, levels=levels, colors=CUT_EDGE, linewidths=0.8)
        lines.set_clip_path(clip)
        number_lines(axes, lines)
        said = [f"arch {high - low:.1f} mm high; lines: height in mm"]
    if plate.outline.holes:
        said.append(f"{len(plate.outline.holes)} holes" if len(plate.outline.holes) > 1 else "1 hole")
    if plate.bar is not None:
        said.append(f"dashed: bar underneath, {plate.bar.length / MM:.0f} mm long")
    _say(axes, said)


def height_steps(low_mm: float, high_mm: float) -> Floats:
    """Return round heights [mm] for the contour lines of an arch, about eight of them.

    None stands at the lowest height itself: that of a flat channel, where it would wander about.
    """
    from matplotlib.ticker import MaxNLocator

    levels = np.asarray(MaxNLocator(nbins=10, steps=[1, 2, 5, 10]).tick_values(low_mm, high_mm))
    return np.asarray(levels[levels > low_mm + 0.2 * (levels[1] - levels[0])])


def _draw_graduation(axes: "Axes", plate: Plate, grid: PlanGrid, values: bool) -> None:
    """Draw the graduation in colour with numbered lines, the readings, and what is a guess."""
    clip = add_edges(axes, plate.outline)
    thickness = add_graduation(axes, plate.graduation, grid, clip)
    add_bar(axes, plate)
    thin, thick = f"{thickness.min():.2f}", f"{thickness.max():.2f}"
    said = [
        f"{thin} mm thick everywhere"
        if thin == thick
        else f"{thin} to {thick} mm thick; lines: thickness in mm"
    ]
    if len(plate.graduation.readings):
        add_dots(axes, plate.graduation.readings)
        if values:
            add_values(axes, plate.graduation.readings)
        said.append(f"dots: {len(plate.graduation.readings)} readings")
    if add_guesses(axes, plate.graduation, grid, clip):
        said.append("hatched: a guess, no reading near")
    _say(axes, said)


def _say(axes: "Axes", facts: Sequence[str]) -> None:
    """Write what can be seen under a plan, one fact to a line."""
    words = axes.annotate(
        "\n".join(facts), (0.5, 0.0), (0.0, -30.0), "axes fraction", "offset points", fontsize=8.5
    )
    words.set(horizontalalignment="center", verticalalignment="top", color=INK, linespacing=1.4)
