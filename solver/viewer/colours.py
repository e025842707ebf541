"""The colours of every picture: told apart by the colour-blind, and in black and white print.

Motion goes from orange (inward) over white to blue (outward); blue prints darker than orange. Thickness goes
evenly from light to dark, so a grey copy still orders it.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.colors import Colormap

INK = "#1d1a17"
QUIET_INK = "#6f675f"
PAPER = "#ffffff"
OUTWARD = "#2166ac"
INWARD = "#e08214"
WOOD = "#d9a860"
CUT_EDGE = "#8a6a45"
MOTION = (INWARD, "#f6b562", "#fde3bf", "#fbfaf8", "#cfe1f0", "#6fa8d3", OUTWARD)
REMOVAL = ("#e3edf6", "#123f6e")
THICKNESS = ("#fbf4e2", "#f3d9a4", "#e2af66", "#c98a47", "#a76a35", "#80491f")
_AIR = ("#f7f3ec", "#d5e3ef", "#8fb8dc")


def motion_colours() -> "Colormap":
    """Return the colours of motion along the outward normal, for values from -1 to 1."""
    from matplotlib.colors import LinearSegmentedColormap

    return LinearSegmentedColormap.from_list("motion", MOTION)


def thickness_colours() -> "Colormap":
    """Return the colours of thickness: pale where the plate is thin, dark where it is thick."""
    from matplotlib.colors import LinearSegmentedColormap

    return LinearSegmentedColormap.from_list("thickness", THICKNESS)


def damp_colours() -> "Colormap":
    """Return the colours of air from dry to damp, pale enough to write on."""
    from matplotlib.colors import LinearSegmentedColormap

    return LinearSegmentedColormap.from_list("damp", _AIR)
