"""The plate cut into sheets of paper that overlap, and the marks by which they are joined."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from solver.viewer.sheet.paper import CUT_PAPERS, Box, Paper, PaperName, roll_for

OVERLAP = 10.0
"""By which two neighbouring sheets show the same [mm]; they are joined along its middle."""

ROOM = 5.0
"""Left free round the plate [mm]."""

CROSS = 4.0
"""Half the size of a registration cross [mm]."""

_CROSSES = (0.2, 0.8)
"""Where along a seam its crosses lie."""


@dataclass(frozen=True)
class Tile:
    """One sheet: its place in columns from the left and rows from the top, and what it shows of the plan."""

    column: int
    row: int
    window: Box

    @property
    def name(self) -> str:
        """Row as a number from 1, column as a letter, as in 2b; the other way round it would be a size of paper."""
        return f"{self.row + 1}{chr(ord('a') + self.column)}"


@dataclass(frozen=True)
class Cross:
    """A registration mark on two sheets, at one place of the plan [mm]."""

    number: int
    u: float
    v: float

    @property
    def footprint(self) -> BaseGeometry:
        """The place that it takes."""
        return shapely.Point(self.u, self.v).buffer(CROSS + 0.5)


@dataclass(frozen=True)
class Seam:
    """The line [mm] along which two sheets are joined, from ``start`` to ``end``, and the crosses on it."""

    tiles: tuple[str, str]
    start: tuple[float, float]
    end: tuple[float, float]
    crosses: tuple[Cross, ...]


@dataclass(frozen=True, eq=False)
class Tiling:
    """All sheets on which something of the plate lies, row by row, and the seams between them."""

    paper: Paper
    tiles: tuple[Tile, ...]
    seams: tuple[Seam, ...]

    def neighbour(self, tile: Tile, column: int, row: int) -> Tile | None:
        """Return the sheet that lies so many columns and rows further, if there is one."""
        place = (tile.column + column, tile.row + row)
        return next((other for other in self.tiles if (other.column, other.row) == place), None)


def lay_tiles(plan: shapely.Polygon, name: PaperName) -> Tiling:
    """Return the fewest sheets that show a whole plan [mm]; upright ones if lying ones save none."""
    left, bottom, right, top = plan.bounds
    if name == "roll":
        paper = roll_for(right - left + 2 * ROOM, top - bottom + 2 * ROOM)
        return _tiling(plan, paper)
    upright = CUT_PAPERS[name]
    return min((_tiling(plan, upright), _tiling(plan, upright.turned())), key=lambda laid: len(laid.tiles))


def _tiling(plan: shapely.Polygon, paper: Paper) -> Tiling:
    left, bottom, right, top = plan.bounds
    across = _starts(left, right, paper.window.width)
    up = _starts(bottom, top, paper.window.height)
    wide, high = paper.window.width, paper.window.height
    tiles = [
        Tile(column, row, Box(u, v, wide, high))
        for row, v in enumerate(reversed(up))
        for column, u in enumerate(across)
    ]
    return _joined(paper, [tile for tile in tiles if _shows(tile, plan)])


def _starts(low: float, high: float, size: float) -> list[float]:
    """Return the lower ends of the windows of one row or column, which lie evenly about the plate."""
    step = size - OVERLAP
    count = max(1, math.ceil((high - low + 2 * ROOM - OVERLAP) / step - 1e-9))
    first = 0.5 * (low + high) - 0.5 * (count * step + OVERLAP)
    return [first + i * step for i in range(count)]


def _shows(tile: Tile, plan: shapely.Polygon) -> bool:
    """Tell whether anything of the plate lies on a sheet beyond what its neighbours show as well."""
    box, half = tile.window, OVERLAP / 2
    own = shapely.box(box.left + half, box.bottom + half, box.right - half, box.top - half)
    return bool(plan.intersects(own))


def _joined(paper: Paper, tiles: list[Tile]) -> Tiling:
    bare = Tiling(paper, tuple(tiles), ())
    seams: list[Seam] = []
    for tile in tiles:
        for below in (False, True):
            other = bare.neighbour(tile, 0, 1) if below else bare.neighbour(tile, 1, 0)
            if other is not None:
                seams.append(_seam(tile, other, below, len(_CROSSES) * len(seams) + 1))
    return Tiling(paper, bare.tiles, tuple(seams))


def _seam(tile: Tile, other: Tile, below: bool, number: int) -> Seam:
    """Return the seam between a sheet and the one below it or to its right; its crosses count from ``number``."""
    box = tile.window
    if below:
        v = box.bottom + OVERLAP / 2
        start, end = (box.left, v), (box.right, v)
    else:
        u = box.right - OVERLAP / 2
        start, end = (u, box.bottom), (u, box.top)
    crosses = tuple(_crosses(start, end, number))
    return Seam((tile.name, other.name), start, end, crosses)


def _crosses(start: tuple[float, float], end: tuple[float, float], number: int) -> Iterator[Cross]:
    for i, share in enumerate(_CROSSES):
        u, v = (a + share * (b - a) for a, b in zip(start, end, strict=True))
        yield Cross(number + i, u, v)
