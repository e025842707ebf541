"""How far what is known of a plate may be off: its arch, its thickness, its holes, its bar, and the model itself.

All are standard deviations. Where no other source is named they are common practice, no source: what rulers,
templates and dial calipers read in a workshop.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from meshes.readings import spacing
from solver.core.units import MM
from solver.plate.plate import Plate
from solver.plate.reshaped_arch import is_arched

ArchSource = Literal["flat", "drawn", "sections", "heights"]
"""How the arch is known."""

CLOSE_HEIGHTS = 14.0 * MM
"""Heights this close keep the tones of a violin plate within half a per cent (found on our demonstration plates)."""

THEORY = 0.002
"""Of each tone by the computation, two thirds of what it differs from solids at most (see the README's table)."""
WITH_BAR = 0.003
READING = 0.005
"""Of a tone tapped and read: a fifth of the half-power width of a tone of quality 40."""
SCALES = 0.005
"""Of the mass: half a gram in a hundred, for the scales and for what glue and dust weigh."""

GRAIN, RINGS = float(np.radians(1.0)), float(np.radians(4.0))
"""Of the angle of the grain in the plate, and of the rings' tilt: what a joined plate, planed by eye, is askew by (common
practice, no source)."""


@dataclass(frozen=True)
class Doubts:
    """Standard deviations of what a plate is described by.

    ``rise``, ``across``, ``along`` of `ArchForm`; ``arch_rest`` of each tone [-] by what these do not catch;
    ``caliper`` [m] of every thickness alike; ``reading`` [m] of each thickness, and ``patch`` [m] as far as each
    reaches; ``hole`` [m] of a hole's edge; ``bar`` of the logarithm of the bar's stiffness; ``theory`` of each tone
    [-]; ``grain`` and ``rings`` [rad] of the wood's angles.
    """

    rise: float
    across: float
    along: float
    arch_rest: float
    caliper: float
    reading: float
    patch: float
    hole: float
    bar: float
    theory: float
    grain: float
    rings: float


_ARCH: dict[ArchSource, tuple[float, float, float, float]] = {
    "flat": (0.0, 0.0, 0.0, 0.0),
    "drawn": (0.04, 0.40, 0.40, 0.015),
    "sections": (0.010, 0.06, 0.04, 0.005),
    "heights": (0.008, 0.03, 0.03, 0.003),
}
"""Rise, fullness across and along, rest of each tone."""


def doubts_of(plate: Plate, arch: ArchSource, height_spacing: float = 0.0) -> Doubts:
    """Return how far the description of a plate may be off.

    ``height_spacing`` [m] is the distance of the heights from each other, where the arch was read so; coarser ones
    than 14 mm on a violin leave more open, as the square of the distance, closer ones less, down to a half.
    """
    source: ArchSource = arch if is_arched(plate) else "flat"
    scale = float(np.sqrt(plate.outline.area / 0.055))
    coarse = max(0.5, (height_spacing / (CLOSE_HEIGHTS * scale)) ** 2) if source == "heights" else 1.0
    rise, across, along, rest = (coarse * spread for spread in _ARCH[source])
    measured = len(plate.graduation.readings) > 0
    highest = 0.0 if plate.bar is None else float(plate.bar.profile[:, 1].max())
    # a bar is bent by the third power of its height, which is known to 0.3 mm; its wood like any board's
    bar = 0.0 if plate.bar is None else float(np.hypot(0.15, 3 * 0.3 * MM / highest))
    return Doubts(
        rise,
        across,
        along,
        rest,
        caliper=0.03 * MM if measured else 0.05 * MM,
        reading=0.04
        * MM,  # the caliper repeats to 0.03 mm, and a scraped plate is as uneven between the readings
        patch=spacing(plate.graduation.readings) if measured else 30.0 * MM * scale,
        hole=0.3 * MM,
        bar=bar,
        theory=THEORY if plate.bar is None else WITH_BAR,
        grain=GRAIN,
        rings=RINGS,
    )
