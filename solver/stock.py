"""Plates to begin with, drawn by us from usual dimensions (common practice, no source).

Overall dimensions, arching and graduation are those that makers commonly quote; outline, sound holes and figures follow no
maker and no instrument. Another length takes everything in proportion.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely

from meshes.edge import Edge
from meshes.outline import Outline, make_outline
from meshes.stock_holes import stock_holes
from meshes.stock_outline import stock_outline
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate.bar import Bar
from solver.plate.wood import Wood
from solver.plate_folder.bar_table import bar_of
from solver.plate_folder.schema import BarTable
from solver.plate_folder.write import table_text, write_new_folder

LIKE = ("violin-top", "violin-back", "viola-top", "viola-back", "cello-top", "cello-back", "panel")
"""What a new plate may be like."""

_PLAN = ("x_mm", "y_mm")
_FROM_EDGE = 4.0 * MM


@dataclass(frozen=True)
class _Arched:
    """A top or back: sizes in mm at its usual length; the thickness rises from the bouts to ``middle``.

    ``wood`` are the lines of its wood table, ``bar`` those of its bar without the place.
    """

    role: str
    length: float
    width: float
    rise: float
    channel: float
    bouts: float
    middle: float
    wood: str
    wanted: str


_SPRUCE = 'species = "Norway spruce"\ndensity_kg_m3 = 400\n'
_MAPLE = (
    'species = "sugar maple"\ndensity_kg_m3 = 640\n'
    "EL_GPa = 9.5    # figured wood is softer along the grain than the straight boards of the tables\n"
)

_STOCK = {
    "violin-top": _Arched("top", 355, 206, 15.5, 9, 2.5, 3.0, _SPRUCE, "{ 2 = 150.0, 5 = 345.0 }"),
    "violin-back": _Arched("back", 355, 206, 15.0, 9, 2.5, 3.4, _MAPLE, "{ 2 = 168.0, 5 = 360.0 }"),
    "viola-top": _Arched("top", 410, 243, 17.5, 10, 2.7, 3.2, _SPRUCE, "{ 2 = 120.0, 5 = 285.0 }"),
    "viola-back": _Arched("back", 410, 243, 17.0, 10, 2.8, 3.8, _MAPLE, "{ 2 = 138.0, 5 = 295.0 }"),
    "cello-top": _Arched("top", 755, 440, 26.0, 16, 4.0, 4.9, _SPRUCE, "{ 2 = 57.0, 5 = 133.0 }"),
    "cello-back": _Arched("back", 755, 440, 25.5, 16, 4.3, 6.0, _MAPLE, "{ 2 = 64.0, 5 = 137.0 }"),
}


def write_stock_plate(folder: Path, like: str, length_mm: float | None = None) -> None:
    """Write a new plate folder that solves at once; the plate is called like its folder.

    Raises
    ------
    InputError
        If ``like`` is not one of ``LIKE``, the length is less than half or more than twice the usual one, or something
        stands in the folder already.
    """
    title = json.dumps(folder.resolve().name or "A plate", ensure_ascii=False)
    if like == "panel":
        write_new_folder(folder, _panel_files(title, _checked_scale(like, length_mm, 360.0)))
    elif like in _STOCK:
        stock = _STOCK[like]
        scale = _checked_scale(like, length_mm, stock.length)
        write_new_folder(folder, _arched_files(title, stock, scale))
    else:
        raise InputError(
            f"--like: there is no stock plate {like!r}; expected one of {', '.join(LIKE)}. Choose one."
        )


def _checked_scale(like: str, length_mm: float | None, usual: float) -> float:
    scale = 1.0 if length_mm is None else length_mm / usual
    if not 0.5 <= scale <= 2.0:
        raise InputError(
            f"The length is {length_mm:g} mm for a {like}; expected {usual / 2:g} to {usual * 2:g} mm (usual: {usual:g}). "
            "Give the length of the plate in millimetres."
        )
    return scale


def _arched_files(title: str, stock: _Arched, scale: float) -> dict[str, str]:
    length, width = stock.length * scale * MM, stock.width * scale * MM
    top = stock.role == "top"
    outline = stock_outline(length, width)
    if top:
        outline = make_outline(outline.edge, stock_holes(length, width))
    head = [
        "format = 1",
        f"title = {title}",
        f'role = "{stock.role}"',
        "",
        "[outline]",
        'file = "outline.csv"',
        *(['holes = ["holes/bass.csv", "holes/treble.csv"]'] if top else []),
        "",
        "[arch]    # drawn from the outline; put your own heights or templates in its place",
        f"rise_mm = {stock.rise * scale:.1f}",
        f"channel_mm = {stock.channel * scale:.1f}",
        "",
        "[thickness]",
        'file = "thickness.csv"',
        "",
        "[wood]    # from the table of the species; weigh the plate for the true density",
        stock.wood,
    ]
    if top:
        head += _bar_lines(length / MM / 355.0)
    head += [
        _CLIMATE,
        "[wanted]",
        f"modes_hz = {stock.wanted}",
        f"min_thickness_mm = {0.83 * stock.bouts * scale:.1f}",
    ]
    return {
        "plate.toml": "\n".join(head) + "\n",
        "outline.csv": edge_text(outline.edge),
        **{f"holes/{hole.name}.csv": edge_text(hole) for hole in outline.holes},
        "thickness.csv": _thickness_text(outline, _hump(stock, length, scale), 0.017 * scale),
    }


_CLIMATE = "[climate]\ntemperature_c = 20.0\nhumidity_pct = 50.0\n"


def usual_bar(outline: Outline, wood: Wood) -> Bar:
    """Return the bar that a top of this size usually has: that of the stock tops, in proportion to its length.

    Whether it lies on the wood of this plate is to be checked.
    """
    low, _, high, _ = np.array(outline.bounds) / MM
    return bar_of(_bar_table((high - low) / 355.0, low), wood)


def _bar_table(scale: float, tail: float = 0.0) -> BarTable:
    """Three quarters of the plate's length, under the bass side, slanting with the strings; ``tail`` is x at its end."""
    low, high = 2.5 * scale, 11.5 * scale
    return BarTable(
        from_mm=(tail + 45.0 * scale, 18.0 * scale),
        to_mm=(tail + 313.0 * scale, 12.5 * scale),
        width_mm=5.5 * scale,
        height_mm=((0.0, low), (0.5, high), (1.0, low)),
    )


def _bar_lines(scale: float) -> list[str]:
    """The bar as it stands in plate.toml."""
    table = _bar_table(scale)
    taper = ", ".join(f"[{fraction:.1f}, {height:.1f}]" for fraction, height in table.height_mm)
    return [
        "[bar]",
        f"from_mm = [{table.from_mm[0]:.1f}, {table.from_mm[1]:.1f}]",
        f"to_mm = [{table.to_mm[0]:.1f}, {table.to_mm[1]:.1f}]",
        f"width_mm = {table.width_mm:.1f}",
        f"height_mm = [{taper}]",
        "",
    ]


def _hump(stock: _Arched, length: float, scale: float) -> Callable[[Floats], Floats]:
    """Thickness [m] at plan points: thickest a little below the waist, falling off into both bouts."""
    bouts, more = stock.bouts * scale * MM, (stock.middle - stock.bouts) * scale * MM

    def thickness(points: Floats) -> Floats:
        u = (points[:, 0] / length - 0.47) / 0.30
        v = points[:, 1] / (0.17 * length)
        return np.asarray(bouts + more * np.exp(-(u**2) - v**2))

    return thickness


def _thickness_text(outline: Outline, thickness: Callable[[Floats], Floats], step: float) -> str:
    """Caliper readings on a grid, none nearer than 4 mm to an edge, as a maker would take them."""
    low_x, low_y, high_x, high_y = outline.bounds
    x = np.arange(low_x + step / 2, high_x, step)
    y = np.arange(-np.floor(high_y / step), np.floor(-low_y / step) + 1) * step
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    places = grid[shapely.contains_xy(outline.polygon.buffer(-_FROM_EDGE), grid)]
    return table_text((*_PLAN, "t_mm"), (np.column_stack([places, thickness(places)]) / MM).tolist())


def edge_text(edge: Edge) -> str:
    """Return the file of an edge: its own knots, each corner listed twice as the format asks."""
    times = np.ones(len(edge.knots), dtype=int)
    times[edge.corners] = 2
    return table_text(_PLAN, (np.repeat(edge.knots, times, axis=0) / MM).tolist())


def _panel_files(title: str, scale: float) -> dict[str, str]:
    length, width = 360.0 * scale, 140.0 * scale
    corners = np.array([[0.0, -width / 2], [length, -width / 2], [length, width / 2], [0.0, width / 2]])
    head = [
        "format = 1",
        f"title = {title}",
        'role = "panel"',
        "",
        "[outline]",
        'file = "outline.csv"',
        "",
        "[arch]",
        "flat = true",
        "",
        "[thickness]",
        f"uniform_mm = {5.0 * scale:.1f}",
        "",
        "[wood]",
        _SPRUCE,
        _CLIMATE,
    ]
    return {
        "plate.toml": "\n".join(head),
        "outline.csv": table_text(_PLAN, np.repeat(corners, 2, axis=0).tolist()),
    }
