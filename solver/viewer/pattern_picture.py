"""A powder pattern beside its photo: the plate laid flat, the lines seen on it and the lines computed."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from solver.advice.pattern_reading import PatternReading
from solver.core.units import MM
from solver.modal.node_lines import node_lines
from solver.viewer.captions import how_seen, mode_name, tone_name
from solver.viewer.colours import INK, OUTWARD, PAPER, QUIET_INK
from solver.viewer.key import add_key
from solver.viewer.page_files import save_pages
from solver.viewer.plan_view import add_edges, add_halo, add_ruler, lay_out, on_paper

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_PLAN_INCHES, _HEAD_INCHES, _FOOT_INCHES, _BETWEEN = 3.6, 1.15, 0.75, 0.55
_COMPUTED_DASHES = (0, (3.0, 1.4))
_FADED = 0.45
_HALO = 2.4


def draw_pattern(reading: PatternReading, photo: str, path: Path) -> tuple[Path, ...]:
    """Write the page; raises InputError if the ending is none of png, pdf and svg, or nothing can be written there."""
    return save_pages([pattern_figure(reading, photo)], path)


def pattern_figure(reading: PatternReading, photo: str) -> "Figure":
    """Return a page with the straightened photo, and beside it the photo faded under the seen and the computed lines."""
    from matplotlib.figure import Figure

    plate = reading.plate
    xmin, ymin, xmax, ymax = plate.outline.bounds
    tall = _PLAN_INCHES * min(2.4, (xmax - xmin) / (ymax - ymin))
    width = 2 * _PLAN_INCHES + 3 * _BETWEEN
    height = tall + _HEAD_INCHES + _FOOT_INCHES
    figure = Figure(figsize=(width, height), facecolor=PAPER)
    for place in (0, 1):
        left = (_BETWEEN + place * (_PLAN_INCHES + _BETWEEN)) / width
        axes = figure.add_axes((left, _FOOT_INCHES / height, _PLAN_INCHES / width, tall / height))
        lay_out(axes, plate.outline)
        add_ruler(axes, plate)
        _lay_photo(axes, reading, 1.0 if place == 0 else _FADED)
    _add_lines(axes, reading)
    for line, (text, size, colour) in enumerate(_head(reading, photo)):
        weight = "bold" if line == 0 else "normal"
        up = 1 - (0.14 + 0.19 * line + 0.06 * (line > 0)) / height
        figure.text(0.03, up, text, fontsize=size, fontweight=weight, color=colour, va="top")
    _key(figure, reading)
    return figure


def _head(reading: PatternReading, photo: str) -> Iterator[tuple[str, float, str]]:
    """Yield the lines over the plans: text, size and colour."""
    match, plate = reading.match, reading.plate
    pair, hz = match.best.pair, float(reading.modes.hz[match.best.index])
    yield plate.title, 12.0, INK
    yield f"{photo}: {mode_name(reading.modes, match.best.index)}, computed at {tone_name(hz)}", 9.0, INK
    side = "inside" if match.view.inside else "outside"
    yield f"photographed from the {side}; drawn as {how_seen(plate.role)}", 8.0, QUIET_INK
    yield (
        f"half of the lines within {pair.median / MM:.1f} mm of each other, "
        f"nine tenths within {pair.nine_tenths / MM:.1f} mm",
        8.0,
        QUIET_INK,
    )


def _lay_photo(axes: "Axes", reading: PatternReading, strength: float) -> None:
    """Lay the straightened photo under the plan."""
    flat = reading.match.view.flat
    half = 0.5 * flat.step
    low_y, high_y, low_x, high_x = (
        (value + side * half) / MM
        for axis in (flat.y, flat.x)
        for value, side in ((axis[0], -1), (axis[-1], 1))
    )
    limits = axes.get_xlim(), axes.get_ylim()
    axes.imshow(
        np.clip(1 - strength * (1 - flat.colours), 0, 1),
        extent=(low_y, high_y, low_x, high_x),
        origin="lower",
        zorder=1,
    )
    axes.set_xlim(limits[0])
    axes.set_ylim(limits[1])
    add_edges(axes, reading.plate.outline, width=0.8)


def _add_lines(axes: "Axes", reading: PatternReading) -> None:
    from matplotlib import patheffects

    rim = [patheffects.withStroke(linewidth=2 * _HALO, foreground=PAPER)]
    for line in reading.match.view.lines:
        axes.plot(*on_paper(line), color=OUTWARD, linewidth=_HALO, path_effects=rim, zorder=7)
    for line in node_lines(reading.modes, reading.match.best.index):
        axes.plot(*on_paper(line), color=INK, linewidth=1.5, linestyle=_COMPUTED_DASHES, zorder=8)
    for number, parting in enumerate(reading.difference.partings, start=1):
        (u,), (v,) = on_paper(parting.place[None])
        add_halo(
            axes.annotate(
                f"{number}: {parting.distance / MM:.1f} mm",
                (u, v),
                (8, 6),
                textcoords="offset points",
                fontsize=8,
                zorder=9,
            )
        )
    if reading.hint is not None:
        _add_hint(axes, reading)


def _add_hint(axes: "Axes", reading: PatternReading) -> None:
    """Show where a thinner spot would explain part of the difference."""
    from matplotlib.patches import Circle

    assert reading.hint is not None, "asked for only where there is one"
    hollow = reading.hint.hollow
    (u,), (v,) = on_paper(hollow.centre[None])
    axes.add_patch(
        Circle(
            (u, v),
            hollow.radius / MM,
            facecolor="none",
            edgecolor=QUIET_INK,
            linewidth=1.1,
            linestyle=":",
            zorder=8,
        )
    )


def _key(figure: "Figure", reading: PatternReading) -> None:
    from matplotlib.lines import Line2D

    entries = {
        "seen on the photo": Line2D([], [], color=OUTWARD, linewidth=_HALO),
        "computed": Line2D([], [], color=INK, linewidth=1.5, linestyle=_COMPUTED_DASHES),
    }
    if reading.hint is not None:
        entries["measure the thickness here again"] = Line2D(
            [], [], color=QUIET_INK, linewidth=1.1, linestyle=":"
        )
    add_key(figure, entries)
