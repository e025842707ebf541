"""A sheet of all modes: where each moves out and in, where it stands still, where to hold and to tap."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from solver.core.arrays import Floats
from solver.core.units import MM
from solver.modal.modes import Modes
from solver.modal.node_lines import hold_and_tap, node_lines
from solver.plate.plate import Plate
from solver.viewer.captions import MINUS, how_seen, mode_name, tone_name
from solver.viewer.colours import INK, INWARD, OUTWARD, PAPER, QUIET_INK, motion_colours
from solver.viewer.key import add_key
from solver.viewer.page_files import save_pages
from solver.viewer.plan_view import (
    BAR_DASHES,
    add_bar,
    add_edges,
    add_halo,
    add_node_lines,
    lay_out,
    on_paper,
)
from solver.viewer.solid import rim_edges

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

COLUMNS, PANELS = 4, 12
"""Panels beside each other, and on one page."""

_PANEL_INCHES = 2.05
_TITLE_INCHES, _HEAD_INCHES, _FOOT_INCHES = 0.5, 0.75, 0.75
_SHADES = 16
_LEAST_PATCH = 0.012
"""Smallest part of the plate's points whose sign is written on it."""
_STILL = 0.01
"""Share of the largest motion below which a point counts as still."""


def draw_modes(modes: Modes, plate: Plate, path: Path) -> tuple[Path, ...]:
    """Write one panel per mode, twelve to a page, and return the files written: a PDF holds all pages.

    Raises
    ------
    InputError
        If the name's ending is none of png, pdf and svg, or nothing can be written there.
    """
    return save_pages(mode_pages(modes, plate), path)


def mode_pages(modes: Modes, plate: Plate) -> list["Figure"]:
    """Return the pages of the sheet, one panel per mode."""
    order = range(len(modes.hz))
    return [_page(modes, plate, order[start : start + PANELS]) for start in order[::PANELS]]


@dataclass(frozen=True)
class SignMark:
    """A + or a - on a part of the plate that moves as one; ``room`` [m] is free round it."""

    x: float
    y: float
    outward: bool
    room: float


def sign_marks(modes: Modes, index: int, keep_clear: Floats) -> list[SignMark]:
    """Return one mark for each part of the plate that moves the same way, at its roomiest place.

    ``keep_clear`` (m, 2) [m] are places that the marks stay away from. Parts of few points get no mark.
    """
    motion, plan, triangles = modes.normal_motion[index], modes.points[:, :2], modes.triangles
    edges = np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    sign = np.where(np.abs(motion) < _STILL * np.abs(motion).max(), 0.0, np.sign(motion))
    same = edges[sign[edges[:, 0]] * sign[edges[:, 1]] > 0]
    links = coo_array((np.ones(len(same)), (same[:, 0], same[:, 1])), shape=(len(plan), len(plan)))
    parts, part = connected_components(links, directed=False)
    marks = []
    for number in range(parts):
        own = part == number
        if np.count_nonzero(own) < _LEAST_PATCH * len(plan):
            continue
        room, _ = cKDTree(np.vstack([plan[~own], keep_clear])).query(plan[own])
        x, y = plan[own][np.argmax(room)]
        marks.append(SignMark(float(x), float(y), bool(sign[own][0] > 0), float(np.max(room))))
    return marks


def _page(modes: Modes, plate: Plate, which: range) -> "Figure":
    """Draw the panels of one page, its heading and its key."""
    from matplotlib.figure import Figure

    xmin, ymin, xmax, ymax = plate.outline.bounds
    rows = -(-len(which) // COLUMNS)
    tall = _PANEL_INCHES * min(2.2, 0.9 * (xmax - xmin) / (ymax - ymin))
    width, height = COLUMNS * _PANEL_INCHES, rows * (tall + _TITLE_INCHES) + _HEAD_INCHES + _FOOT_INCHES
    figure = Figure(figsize=(width, height), facecolor=PAPER)
    for place, index in enumerate(which):
        row, column = divmod(place, COLUMNS)
        bottom = height - _HEAD_INCHES - (row + 1) * (tall + _TITLE_INCHES)
        box = (column / COLUMNS, bottom / height, 1 / COLUMNS, tall / height)
        mode_on(figure.add_axes(box), modes, plate, index)
    figure.text(0.02, 1 - 0.2 / height, plate.title, fontsize=13, fontweight="bold", color=INK, va="top")
    figure.text(0.02, 1 - 0.47 / height, how_seen(plate.role), fontsize=8.5, color=QUIET_INK, va="top")
    _key(figure, plate)
    return figure


def mode_on(axes: "Axes", modes: Modes, plate: Plate, index: int) -> None:
    """Draw one mode on empty axes: colour by motion, bold node lines, signs, and where to hold and to tap."""
    from matplotlib.tri import Triangulation

    axes.set_axis_off()
    lay_out(axes, plate.outline)
    motion = modes.normal_motion[index] / np.abs(modes.normal_motion[index]).max()
    surface = Triangulation(*on_paper(modes.points), modes.triangles)
    levels = np.linspace(-1, 1, _SHADES + 1)
    colours = axes.tricontourf(surface, motion, levels=levels, cmap=motion_colours(), zorder=1)
    colours.set_clip_path(add_edges(axes, plate.outline, width=0.9))
    add_bar(axes, plate, width=0.6)
    add_node_lines(axes, node_lines(modes, index))
    spots = hold_and_tap(modes, index)
    axes.add_line(_spot(spots.hold, tap=False))
    axes.add_line(_spot(spots.tap[None], tap=True))
    rim = modes.points[np.unique(rim_edges(modes.triangles)), :2]
    for mark in sign_marks(modes, index, np.vstack([rim, spots.hold, spots.tap])):
        _write_sign(axes, mark)
    axes.set_title(mode_name(modes, index), fontsize=11, fontweight="bold", color=INK, pad=15)
    tone = axes.text(0.5, 1.0, tone_name(modes.hz[index]), transform=axes.transAxes, fontsize=8.5, color=INK)
    tone.set(horizontalalignment="center", verticalalignment="bottom")


def _spot(points: Floats, tap: bool) -> "Line2D":
    """Return marks at places (p, 2) [m]: a ring where to hold, a star where to tap."""
    from matplotlib.lines import Line2D

    mark = Line2D(*on_paper(points), linestyle="none", zorder=9, clip_on=False)
    if tap:
        mark.set(marker="*", markersize=11, markerfacecolor=INK, markeredgecolor=PAPER, markeredgewidth=0.8)
    else:
        mark.set(marker="o", markersize=6, markerfacecolor=PAPER, markeredgecolor=INK, markeredgewidth=1.4)
    return mark


def _write_sign(axes: "Axes", mark: SignMark) -> None:
    """Write + or - as large as its part of the plate allows, within reason."""
    text = axes.text(mark.y / MM, mark.x / MM, "+" if mark.outward else MINUS, zorder=8, fontweight="bold")
    text.set(horizontalalignment="center", verticalalignment="center_baseline")
    text.set_fontsize(float(np.clip(1.1e3 * mark.room, 8, 18)))
    add_halo(text)


def _key(figure: "Figure", plate: Plate) -> None:
    """Explain the marks at the foot of the page."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    nowhere = np.empty((0, 2))
    entries = {
        "+  moves out ...": Patch(facecolor=OUTWARD, edgecolor=INK, linewidth=0.6),
        f"{MINUS}  ... while this moves in": Patch(facecolor=INWARD, edgecolor=INK, linewidth=0.6),
        "node line: stands still": Line2D([], [], color=INK, linewidth=2.2),
        "hold here": _spot(nowhere, tap=False),
        "tap here": _spot(nowhere, tap=True),
    }
    if plate.bar is not None:
        entries["bar, underneath"] = Line2D([], [], color=INK, linewidth=0.8, linestyle=BAR_DASHES)
    add_key(figure, entries)
