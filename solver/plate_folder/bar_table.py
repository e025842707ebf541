"""The table [bar]: from what the maker states to a bar that lies on the plate."""

import numpy as np

from meshes.outline import Outline
from solver.core.units import MM
from solver.plate.bar import Bar
from solver.plate.bar_place import check_place
from solver.plate.wood import Wood
from solver.plate_folder.schema import BarTable
from solver.plate_folder.wood_table import make_wood


def make_bar(table: BarTable, plate_wood: Wood, outline: Outline) -> Bar:
    """Return the bar, of its own wood or the plate's.

    Raises
    ------
    InputError
        If it is too short for its width, reaches over the edge, or crosses a hole.
    """
    bar = bar_of(table, plate_wood)
    check_place(bar, outline, "plate.toml: [bar]")
    return bar


def bar_of(table: BarTable, plate_wood: Wood) -> Bar:
    """Return the bar wherever it lies; raises InputError if its wood cannot be."""
    wood = make_wood(table.wood, "plate.toml: [bar.wood]") if table.wood else plate_wood
    profile = np.array(table.height_mm) * [1.0, MM]
    start, end = np.array(table.from_mm) * MM, np.array(table.to_mm) * MM
    return Bar(start, end, table.width_mm * MM, profile, wood)
