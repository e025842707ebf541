"""Pictures on axes of matplotlib: yours, or new ones."""

from typing import TYPE_CHECKING

from platewright.advice import ThinningMap
from platewright.modes import Modes
from platewright.plates import Plate
from solver.core.errors import InputError
from solver.viewer.figures import graduation_on
from solver.viewer.mode_sheet import mode_on
from solver.viewer.page_files import new_axes
from solver.viewer.thinning_map import changes_on

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def draw_plate(plate: Plate, axes: "Axes | None" = None) -> "Axes":
    """Draw the graduation map of a plate, a dot where a reading was taken, and return the axes.

    >>> from platewright import new_plate
    >>> draw_plate(new_plate("drawn-panel", like="panel")).has_data()
    True
    """
    axes = axes or new_axes()
    graduation_on(axes, plate)
    return axes


def draw_mode(modes: Modes, name: str, axes: "Axes | None" = None) -> "Axes":
    """Draw the mode with one of the trade's numbers: motion, node lines, where to hold and to tap; return the axes.

    Raises InputError if no tone has that number.

    >>> from platewright import new_plate, solve_modes
    >>> draw_mode(solve_modes(new_plate("moving-panel", like="panel"), count=3), "2").has_data()
    True
    """
    modes.hz_of(name)
    axes = axes or new_axes()
    mode_on(axes, modes, modes.plate, modes.names.index(name))
    return axes


def draw_where(thinning: ThinningMap, name: str, axes: "Axes | None" = None) -> "Axes":
    """Draw what a shaving does to one of the modes of a map: Hz for 0.1 mm from 1 cm2; return the axes.

    Raises InputError if the map does not have that mode.

    >>> from platewright import new_plate, where
    >>> draw_where(where(new_plate("coloured-panel", like="panel"), "2"), "2").has_data()
    True
    """
    found = thinning.found
    if name not in found.names:
        raise InputError(
            f'The mode "{name}" is not on this map; expected one of: {", ".join(found.names)}. Ask where() for it.'
        )
    axes = axes or new_axes()
    changes_on(axes, found, name)
    return axes
