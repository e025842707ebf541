"""The plate in plan as a maker lays it on the bench: seen from the outside, upper end up, in millimetres.

On every picture x runs up and y to the left, which is how the plate folder counts them.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from meshes.outline import Outline
from solver.core.arrays import Bools, Floats
from solver.core.units import MM
from solver.plate.plate import Plate
from solver.viewer.captions import end_names, side_names
from solver.viewer.colours import INK, PAPER, QUIET_INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.patches import PathPatch
    from matplotlib.text import Text

LineStyle = str | tuple[float, tuple[float, ...]]

BAR_DASHES = (0, (4, 2))

_EDGE_STEP = 0.5 * MM
_FINER_THAN_A_LINE = 0.4 * MM
"""Wriggles of a node line smaller than this are the mesh's, and would make its edge look frayed."""


@dataclass(frozen=True, eq=False)
class PlanGrid:
    """A grid over the plate in plan: ``x`` (r,) and ``y`` (c,) [m], ``inside`` (r, c) where there is wood."""

    x: Floats
    y: Floats
    inside: Bools

    @property
    def points(self) -> Floats:
        """All grid points (r c, 2) [m], row by row."""
        return np.stack(np.meshgrid(self.x, self.y, indexing="ij"), axis=-1).reshape(-1, 2)

    def field(self, values: Floats) -> Floats:
        """Return values (r c,) at the points as (r, c), nan where a map has no business."""
        return np.where(self._near(), values.reshape(self.inside.shape), np.nan)

    def _near(self) -> Bools:
        """The inside and one grid step beyond, so that colour reaches the edge, where it is clipped."""
        near = self.inside.copy()
        near[1:] |= self.inside[:-1]
        near[:-1] |= self.inside[1:]
        wide = near.copy()
        wide[:, 1:] |= near[:, :-1]
        wide[:, :-1] |= near[:, 1:]
        return wide


def plan_grid(outline: Outline, lines: int = 320) -> PlanGrid:
    """Return a grid with ``lines`` steps along the plate and equal steps across."""
    xmin, ymin, xmax, ymax = outline.bounds
    step = (xmax - xmin) / lines
    x = np.arange(xmin - 2 * step, xmax + 3 * step, step)
    y = np.arange(ymin - 2 * step, ymax + 3 * step, step)
    grid = PlanGrid(x, y, np.zeros((len(x), len(y)), bool))
    return PlanGrid(x, y, outline.contains(grid.points).reshape(len(x), len(y)))


def on_paper(points: Floats) -> tuple[Floats, Floats]:
    """Return the horizontal and the upright coordinate [mm] of plan points (n, 2) [m]."""
    return points[:, 1] / MM, points[:, 0] / MM


def lay_out(axes: "Axes", outline: Outline) -> None:
    """Turn the axes so that x points up and y to the left, at one scale, with room for the whole plate."""
    xmin, ymin, xmax, ymax = np.array(outline.bounds) / MM
    room = 0.03 * (xmax - xmin)
    axes.set_aspect("equal")
    axes.set_xlim(ymax + room, ymin - room)
    axes.set_ylim(xmin - room, xmax + room)


def add_ruler(axes: "Axes", plate: Plate) -> None:
    """Show millimetres along the left and the lower side, and name the ends and the sides."""
    from matplotlib.ticker import MultipleLocator

    for axis in axes.xaxis, axes.yaxis:
        axis.set_major_locator(MultipleLocator(50))
        axis.set_minor_locator(MultipleLocator(10))
    axes.tick_params(which="both", color=QUIET_INK, labelcolor=QUIET_INK, labelsize=7)
    axes.tick_params(which="major", length=5)
    axes.tick_params(which="minor", length=2.5)
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines[["left", "bottom"]].set_color(QUIET_INK)
    axes.set_ylabel("x  [mm]", color=QUIET_INK, fontsize=7)
    axes.set_xlabel("y  [mm]", color=QUIET_INK, fontsize=7)
    name_directions(axes, plate, 8)


def name_directions(axes: "Axes", plate: Plate, size: float) -> None:
    """Write which end is up and which side is left."""
    (upper, lower), (left, right) = end_names(plate.role), side_names(plate.role)
    for words, across, up in (left, 0.0, 1.0), (upper, 0.5, 1.0), (right, 1.0, 1.0), (lower, 0.5, 0.0):
        side = {0.0: "left", 0.5: "center", 1.0: "right"}[across]
        text = axes.text(across, up, words, fontsize=size, color=INK, transform=axes.transAxes)
        text.set(horizontalalignment=side, verticalalignment="bottom")


def add_halo(text: "Text") -> None:
    """Put a pale rim round letters, which makes them legible on any colour."""
    from matplotlib import patheffects

    text.set(color=INK, path_effects=[patheffects.withStroke(linewidth=2, foreground=PAPER)])


def add_edges(axes: "Axes", outline: Outline, width: float = 1.2) -> "PathPatch":
    """Draw the outline and the holes; return their area, to which maps are clipped."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    rings = [edge.sampled(_EDGE_STEP) for edge in (outline.edge, *(hole for hole in outline.holes))]
    rings = [np.column_stack(on_paper(np.vstack([ring, ring[:1]]))) for ring in rings]
    rings = [rings[0], *(ring[::-1] for ring in rings[1:])]
    path = Path.make_compound_path(*(Path(ring, closed=True) for ring in rings))
    patch = PathPatch(path, facecolor="none", edgecolor=INK, linewidth=width, zorder=6, joinstyle="round")
    axes.add_patch(patch)
    return patch


def add_bar(axes: "Axes", plate: Plate, width: float = 0.9) -> None:
    """Draw the bar's strip, dashed because it lies underneath."""
    if plate.bar is None:
        return
    strip = plate.bar.footprint
    axes.plot(
        *on_paper(np.vstack([strip, strip[:1]])), color=INK, linewidth=width, linestyle=BAR_DASHES, zorder=5
    )


def add_node_lines(
    axes: "Axes", lines: Iterable[Floats], colour: str = INK, style: LineStyle = "solid"
) -> None:
    """Draw node lines, each (p, 2) [m], bold and without the wriggles of the mesh."""
    for line in lines:
        smooth = shapely.get_coordinates(shapely.LineString(line).simplify(_FINER_THAN_A_LINE))
        axes.plot(
            *on_paper(smooth), color=colour, linewidth=2.2, linestyle=style, solid_capstyle="round", zorder=6
        )


def add_centre_line(axes: "Axes", outline: Outline) -> None:
    """Draw the centre line, on which y is 0."""
    xmin, _, xmax, _ = np.array(outline.bounds) / MM
    axes.plot(
        [0.0, 0.0], [xmin, xmax], color=QUIET_INK, linewidth=0.7, linestyle=(0, (10, 3, 2, 3)), zorder=4
    )
