"""Where a shaving does what, drawn in plan: Hz for 0.1 mm from 1 cm2, and where one mode moves while others stay."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.ndimage import gaussian_filter

from solver.advice.places_in_words import PlaceWords, in_mm
from solver.advice.thinning import ShavingPlace, ThinningMap
from solver.core.arrays import Floats
from solver.core.atomic_write import whole_folder
from solver.core.units import GRAM, MM
from solver.plate.mode_label import key_called
from solver.plate.plate import Plate
from solver.viewer.captions import MINUS, end_names, how_seen, side_names
from solver.viewer.colours import INK, PAPER, QUIET_INK, motion_colours
from solver.viewer.page_files import save_pages
from solver.viewer.plan_view import (
    PlanGrid,
    add_centre_line,
    add_edges,
    add_halo,
    add_ruler,
    lay_out,
    on_paper,
    plan_grid,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_TALL, _MARGIN, _HEAD, _FOOT = 7.6, 0.6, 0.95, 2.0
_LEAST_WIDTH = 6.6
_MEANING = "lines and colours: Hz for 0.1 mm taken from 1 cm2 (dashed: lower)"
_STEPS = 12
_BAR_COLOUR = "#d8d3cc"
_SPREAD = 4.0 * MM
"""Standard deviation [m] of the mean that is drawn: about that of a round shaving of 1 cm2 and its soft edge."""
_LEAST_KNOWN = 0.2


def place_words(plate: Plate) -> PlaceWords:
    """Return what names places on a plate in the words of all its pictures."""
    rim = "at the edge" if plate.role == "panel" else "in the channel"
    return PlaceWords(plate.outline, end_names(plate.role), side_names(plate.role), rim)


def what_it_does(hz: float, most: bool) -> str:
    """Say what a shaving does at one of the places where it lowers a mode most, or else at one of the opposite kind."""
    if most:
        return "lowers it most"
    return "raises it" if hz > 0 else "lowers it least"


def draw_thinning(thinning: ThinningMap, path: Path) -> tuple[Path, ...]:
    """Write one page for each mode, and one that tells them apart where there are several.

    Raises
    ------
    InputError
        If the name's ending is none of png, pdf and svg, or nothing can be written there.
    """
    return save_pages([page for _, page in _pages(thinning)], path)


def write_thinning_pictures(thinning: ThinningMap, folder: Path) -> tuple[Path, ...]:
    """Write the same pages into a folder, made if need be, each under its own name.

    Raises
    ------
    InputError
        If nothing can be written there; then the folder is as it was before.
    """
    with whole_folder(folder) as part:
        drawn = [save_pages([page], part / f"{name}.png")[0] for name, page in _pages(thinning)]
    return tuple(folder / path.name for path in drawn)


def _pages(thinning: ThinningMap) -> list[tuple[str, "Figure"]]:
    pages = [
        (f"where-{key_called(name).replace(' ', '-')}", mode_figure(thinning, name))
        for name in thinning.names
    ]
    if len(thinning.names) > 1:
        first, *others = thinning.names
        names = "-".join(key.replace("#", "tone") for key in others)
        pages.append((f"where-{key_called(first).replace(' ', '-')}-not-{names}", contrast_figure(thinning)))
    return pages


def mode_figure(thinning: ThinningMap, name: str) -> "Figure":
    """Return the page of one mode: its change by a shaving as colour and numbered lines, the places named."""
    figure, axes = _page(thinning, f"what a shaving does to {key_called(name)} ({thinning.hz(name):.1f} Hz)")
    _add_changes(axes, thinning, name)
    lower, higher = thinning.lowest(name), thinning.highest(name)
    said = [f"{_MEANING}; nobody thins under the bar"]
    said += _mark(axes, thinning, name, lower, 1)
    said += _mark(axes, thinning, name, higher, 1 + len(lower))
    said.append(
        f"0.1 mm from the whole inside: {_signed(thinning.whole(name), 1)} Hz, "
        f"{_signed(thinning.whole_mass / GRAM, 1)} g"
    )
    _say(figure, said)
    return figure


def changes_on(axes: "Axes", thinning: ThinningMap, name: str) -> None:
    """Draw what a shaving does to one mode on empty axes: Hz for 0.1 mm from 1 cm2."""
    _add_plan(axes, thinning.plate)
    _add_changes(axes, thinning, name)
    axes.set_title(key_called(name), fontsize=11, fontweight="bold", color=INK, pad=24)
    axes.set_xlabel(f"{axes.get_xlabel()}\n{_MEANING}")


def _add_plan(axes: "Axes", plate: Plate) -> None:
    lay_out(axes, plate.outline)
    add_ruler(axes, plate)
    add_centre_line(axes, plate.outline)


def _add_changes(axes: "Axes", thinning: ThinningMap, name: str) -> None:
    values = thinning.hz_map(name)
    _add_map(axes, thinning, values, _even_levels(values[~thinning.in_strip()]))


def contrast_figure(thinning: ThinningMap) -> "Figure":
    """Return the page that tells where the first mode moves while the others stay."""
    first, *others = thinning.names
    names = " and ".join(key_called(name) for name in others)
    figure, axes = _page(thinning, f"where {key_called(first)} moves while {names} stays")
    _add_map(axes, thinning, thinning.contrast(), np.linspace(-1, 1, 9))
    said = [
        f"1: {key_called(first)} moves much and {names} stays; {MINUS}1: the other way round; blank: all hardly move"
    ]
    for number, place in enumerate(thinning.telling(), 1):
        _number(axes, place.point, number)
        changes = ", ".join(f"{key_called(name)} {_signed(hz, 3)}" for name, hz in place.hz.items())
        said.append(
            f"{number}  {place_words(thinning.plate).at(place.point)} ({in_mm(place.point)}): {changes} Hz"
        )
    _say(figure, said)
    return figure


def _page(thinning: ThinningMap, subject: str) -> tuple["Figure", "Axes"]:
    """Return a page with its heading and the empty plan."""
    from matplotlib.figure import Figure

    plate = thinning.plate
    xmin, ymin, xmax, ymax = plate.outline.bounds
    wide = _TALL * (ymax - ymin + 0.06 * (xmax - xmin)) / (1.06 * (xmax - xmin))
    width, height = max(wide + 2 * _MARGIN, _LEAST_WIDTH), _TALL + _HEAD + _FOOT
    figure = Figure(figsize=(width, height), facecolor=PAPER)
    axes = figure.add_axes(((width - wide) / 2 / width, _FOOT / height, wide / width, _TALL / height))
    _add_plan(axes, plate)
    left = 0.3 / width
    figure.text(left, 1 - 0.15 / height, plate.title, fontsize=13, fontweight="bold", color=INK, va="top")
    figure.text(left, 1 - 0.42 / height, subject, fontsize=9.5, color=INK, va="top")
    figure.text(left, 1 - 0.62 / height, how_seen(plate.role), fontsize=8.5, color=QUIET_INK, va="top")
    return figure, axes


def _add_map(axes: "Axes", thinning: ThinningMap, values: Floats, levels: Floats) -> None:
    """Colour values (n,) at the nodes, from orange below nought to blue above, and number their lines."""
    grid = plan_grid(thinning.plate.outline)
    shown, x, y = over_a_shaving(thinning, values, grid), grid.x / MM, grid.y / MM
    clip = add_edges(axes, thinning.plate.outline)
    colours = axes.contourf(y, x, shown, levels=levels, cmap=motion_colours(), extend="both", zorder=1)
    colours.set_clip_path(clip)
    lines = axes.contour(y, x, shown, levels=levels[1:-1], colors=INK, linewidths=0.6, zorder=4)
    lines.set_clip_path(clip)
    digits = max(0, int(np.ceil(-np.log10(levels[1] - levels[0]) - 1e-9)))
    numbered = levels[1:-1][(np.arange(len(levels) - 2) - len(levels) // 2 + 1) % 2 == 0]
    for label in axes.clabel(
        lines, numbered, fmt=lambda level: _signed(level, digits), fontsize=6.5, colors=INK
    ):
        add_halo(label)
    _cover_bar(axes, thinning.plate)


def over_a_shaving(thinning: ThinningMap, values: Floats, grid: PlanGrid) -> Floats:
    """Return values (r, c) on a grid, each the mean over about 1 cm2 of wood in reach; nan where there is none near.

    Without it the lines show the corners of the mesh's triangles.
    """
    from matplotlib.tri import LinearTriInterpolator, Triangulation

    triangles, blank = thinning.modes.triangles, ~np.isfinite(values) | thinning.in_strip()
    surface = Triangulation(*on_paper(thinning.modes.points), triangles, blank[triangles].any(axis=1))
    v, u = np.meshgrid(grid.x / MM, grid.y / MM, indexing="ij")
    raw = np.ma.filled(LinearTriInterpolator(surface, np.where(blank, 0.0, values))(u, v), np.nan)
    known = np.isfinite(raw)
    spread = _SPREAD / (grid.x[1] - grid.x[0])
    weight = gaussian_filter(known.astype(float), spread)
    mean = gaussian_filter(np.where(known, raw, 0.0), spread) / np.maximum(weight, 1e-12)
    shown = np.where(weight > _LEAST_KNOWN, mean, np.nan)
    if (bar := thinning.plate.bar) is not None:
        shown[shapely.contains_xy(shapely.Polygon(bar.footprint), grid.points).reshape(shown.shape)] = np.nan
    return shown


def _cover_bar(axes: "Axes", plate: Plate) -> None:
    """Lay the bar's strip over the map, which means nothing there."""
    from matplotlib.patches import Polygon

    if plate.bar is not None:
        corners = np.column_stack(on_paper(plate.bar.footprint))
        axes.add_patch(
            Polygon(corners, closed=True, facecolor=_BAR_COLOUR, edgecolor=INK, linewidth=0.6, zorder=5)
        )


def _even_levels(values: Floats) -> Floats:
    """Return round levels, as many below nought as above, that reach to all but the steepest peaks."""
    from matplotlib.ticker import MaxNLocator

    most = float(np.percentile(np.abs(values), 98))
    return np.asarray(MaxNLocator(nbins=_STEPS, symmetric=True, steps=[1, 2, 5, 10]).tick_values(-most, most))


def _mark(
    axes: "Axes", thinning: ThinningMap, name: str, places: Sequence[ShavingPlace], start: int
) -> list[str]:
    """Number the places on the plan and return a line of words on each."""
    words, said = place_words(thinning.plate), []
    most = start == 1
    for number, place in enumerate(places, start):
        _number(axes, place.point, number)
        what, change = what_it_does(place.hz[name], most), _signed(place.hz[name], 3)
        said.append(f"{number}  {what}: {words.at(place.point)} ({in_mm(place.point)}), {change} Hz")
    return said


def _number(axes: "Axes", point: Floats, number: int) -> None:
    """Write a number in a ring on the plan."""
    (u,), (v,) = on_paper(point[None])
    text = axes.text(u, v, f"{number}", fontsize=8, fontweight="bold", color=INK, zorder=9)
    text.set(horizontalalignment="center", verticalalignment="center")
    text.set_bbox({"boxstyle": "circle,pad=0.25", "facecolor": PAPER, "edgecolor": INK, "linewidth": 1.0})


def _say(figure: "Figure", said: Sequence[str]) -> None:
    left, middle = 0.3 / figure.get_figwidth(), 0.5 * (_FOOT - 0.45) / figure.get_figheight()
    words = figure.text(left, middle, "\n".join(said), fontsize=8, color=INK, va="center")
    words.set(linespacing=1.4)


def _signed(value: float, digits: int) -> str:
    """Write a change with its sign, nought without."""
    written = f"{abs(value):.{digits}f}"
    return written if not float(written) else f"{MINUS if value < 0 else '+'}{written}"
