"""The table [bar]: from what the maker states to a bar that lies on the plate."""

import numpy as np
import shapely

from meshes.outline import Outline
from solver.errors import InputError
from solver.plate.bar import Bar
from solver.plate.wood import Wood
from solver.plate_folder.schema import BarTable
from solver.plate_folder.wood_table import make_wood
from solver.units import MM


def make_bar(table: BarTable, plate_wood: Wood, outline: Outline) -> Bar:
    """Return the bar, of its own wood or the plate's.

    Raises
    ------
    InputError
        If it is too short for its width, reaches over the edge, or crosses a hole.
    """
    wood = make_wood(table.wood, "plate.toml: [bar.wood]") if table.wood else plate_wood
    profile = np.array(table.height_mm) * [1.0, MM]
    start, end = np.array(table.from_mm) * MM, np.array(table.to_mm) * MM
    if np.linalg.norm(end - start) < 2 * table.width_mm * MM:
        raise InputError(
            f"plate.toml: [bar] runs from {_mm(start)} to {_mm(end)} mm and is {table.width_mm:g} mm wide; "
            "expected it to be at least twice as long as wide. Check from_mm, to_mm and width_mm."
        )
    bar = Bar(start, end, table.width_mm * MM, profile, wood)
    _check_place(bar, outline)
    return bar


def _check_place(bar: Bar, outline: Outline) -> None:
    """Refuse a bar that is not wholly on wood."""
    strip = shapely.Polygon(bar.footprint)
    for hole in outline.holes:
        if shapely.Polygon(hole.sampled(0.5 * MM)).intersects(strip):
            raise InputError(
                f'plate.toml: [bar] runs through the hole "{hole.name}"; expected wood under all of it. '
                "Move from_mm or to_mm, or check which side y counts from (to the left seen from outside)."
            )
    over = strip.difference(outline.polygon)
    if not over.is_empty and over.area > 1e-9 * strip.area:
        place = np.array(over.representative_point().coords[0])
        raise InputError(
            f"plate.toml: [bar] reaches over the edge of the plate near {_mm(place)} mm; expected it inside. "
            "Check from_mm and to_mm against the outline."
        )


def _mm(point: np.ndarray[tuple[int], np.dtype[np.float64]]) -> str:
    """Write a point in plan [m] as a maker reads it."""
    return f"({point[0] / MM:.0f}, {point[1] / MM:.0f})"
