"""Whether caliper readings can be those of a plate, and the sentence for the maker if not."""

import numpy as np

from meshes.outline import Outline
from meshes.readings import against_neighbours, beyond_edge, neighbours, place
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM

POSSIBLE = (0.5 * MM, 40 * MM)
"""From the thinnest edge of a worn plate to a blank before carving (common practice, no source)."""
UNITS = (
    (0.0, 0.02 * MM, "metres", 1000.0),
    (0.02 * MM, 0.4 * MM, "inches", 25.4),
    (0.2 * MM, 0.5 * MM, "centimetres", 10.0),
    (40 * MM, 900 * MM, "hundredths of a mm", 0.01),
    (900 * MM, 40e3 * MM, "micrometres", 0.001),
)
"""What readings are taken in if half of them lie from the first to the second length when read as mm."""
STEEPEST = 0.15
"""Change of thickness along the plate, as in a step from edge to channel (common practice, no source)."""
FAR_OFF = 4.0
"""A reading this many times the usual thickness, or less than its share, has lost its decimal point."""


def check_unit(readings: Floats) -> None:
    """Refuse readings (n, 3) that were clearly not taken in mm."""
    usual = float(np.median(readings[:, 2]))
    units = [f"{unit}: multiply by {factor:g}" for least, most, unit, factor in UNITS if least < usual < most]
    if units:
        raise InputError(
            f"thickness: half of the readings are under {usual / MM:.3g} mm; expected about 2 to 8. "
            f"It looks like {', or like '.join(units)}."
        )


def check_possible(readings: Floats) -> None:
    """Refuse any reading that is no thickness of a plate."""
    wrong = (readings[:, 2] < POSSIBLE[0]) | (readings[:, 2] > POSSIBLE[1])
    if wrong.any():
        worst = readings[int(np.argmax(wrong))]
        raise InputError(
            f"thickness: the reading at {place(worst)} is {worst[2] / MM:.4g} mm; expected "
            f"{POSSIBLE[0] / MM:g} to {POSSIBLE[1] / MM:g}. Look for a slip of the pen, or measure again."
        )


def check_on_plate(readings: Floats, outline: Outline, margin: float) -> None:
    """Refuse readings farther outside the edge than ``margin`` [m], where there is no wood."""
    beyond = beyond_edge(readings, outline)
    outside = int(np.sum(beyond > margin))
    if outside:
        worst = readings[int(np.argmax(beyond))]
        advice = (
            "Look at its x and y." if outside < 0.1 * len(readings) else "Look at the origin and the unit."
        )
        raise InputError(
            f"thickness: {outside} of {len(readings)} readings lie outside the outline, the farthest by "
            f"{beyond.max() / MM:.1f} mm at {place(worst)}; expected them on the plate. {advice}"
        )


def check_typos(readings: Floats) -> None:
    """Refuse readings (n, 3), one per place, that do not go with those around them."""
    usual = np.median(readings[:, 2])
    ratio = readings[:, 2] / usual
    lost_point = (ratio > FAR_OFF) | (ratio < 1 / FAR_OFF)
    doubtful = lost_point | against_neighbours(readings, 0.4 * float(usual), STEEPEST)
    if not doubtful.any():
        return
    _, near = neighbours(readings, min(6, len(readings) - 1))
    around = np.median(readings[near, 2], axis=1)
    worst = int(np.argmax(doubtful * np.abs(np.log(readings[:, 2] / around))))
    low, high = np.sort(readings[near[worst], 2])[[1, -2]]
    raise InputError(
        f"thickness: the reading at {place(readings[worst])} is {readings[worst, 2] / MM:.2f} mm, those around it "
        f"{low / MM:.2f} to {high / MM:.2f} mm; expected a smooth plate. Measure there again, or correct it."
    )
