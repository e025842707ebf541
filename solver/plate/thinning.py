"""A plate after wood was taken from its inside."""

from dataclasses import replace

from meshes.removal import Removal, Sparing, thinned_graduation
from solver.plate.plate import Plate


def thinned(plate: Plate, removal: Removal) -> Plate:
    """Return the plate with ``removal`` taken from the inside; under the bar it keeps its thickness.

    A bar that is glued on keeps the wood over it out of reach, so nothing changes inside its strip.
    """
    taken = removal if plate.bar is None else Sparing(removal, plate.bar.footprint)
    return replace(plate, graduation=thinned_graduation(plate.graduation, taken))
