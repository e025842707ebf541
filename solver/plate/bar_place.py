"""Where a bar may be glued: wholly on wood, and longer than it is wide."""

import numpy as np
import shapely

from meshes.outline import Outline
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate.bar import Bar

LEAST_WOOD = 0.5 * MM
"""Least wood to be left between a bar and a hole or the edge; nothing narrower is measured, or could be glued."""


def check_place(bar: Bar, outline: Outline, where: str) -> None:
    """Refuse a bar that is not wholly on wood; ``where`` says which bar it is, as in ``plate.toml: [bar]``.

    Raises
    ------
    InputError
        If it is too short for its width, or reaches over the edge or into a hole, or within half a millimetre of one.
    """
    if np.linalg.norm(bar.end - bar.start) < 2 * bar.width:
        raise InputError(
            f"{where} runs from {_mm(bar.start)} to {_mm(bar.end)} mm and is {bar.width / MM:g} mm wide; "
            "expected it to be at least twice as long as wide. Check its ends and its width."
        )
    strip = shapely.Polygon(bar.footprint)
    reach = strip.buffer(LEAST_WOOD)
    for hole in outline.holes:
        cut = shapely.Polygon(hole.sampled(0.5 * MM))
        if cut.intersects(reach):
            how = "runs through" if cut.intersects(strip) else f"comes within {LEAST_WOOD / MM:g} mm of"
            raise InputError(
                f'{where} {how} the hole "{hole.name}"; expected wood under all of it. '
                "Move an end, or check its side of the joint (y counts to the left seen from outside)."
            )
    over = reach.difference(outline.polygon)
    if not over.is_empty:
        how = "reaches over" if strip.intersects(over) else f"comes within {LEAST_WOOD / MM:g} mm of"
        place = np.array(over.representative_point().coords[0])
        raise InputError(
            f"{where} {how} the edge of the plate near {_mm(place)} mm; expected it inside. "
            "Check both ends against the outline."
        )


def _mm(point: Floats) -> str:
    """Write a point in plan [m] as a maker reads it."""
    return f"({point[0] / MM:.0f}, {point[1] / MM:.0f})"
