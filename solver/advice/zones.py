"""A least thickness that differs from place to place: by zones, in the words of the bench."""

from dataclasses import dataclass

import numpy as np

from solver.advice.places_in_words import PlaceWords
from solver.core.arrays import Floats
from solver.core.units import MM


@dataclass(frozen=True, eq=False)
class ZonedThickness:
    """``elsewhere`` [m] where no zone is; in each of the ``zones``, words and thickness [m], the zone's own.

    Where zones overlap the greatest holds, because wood cannot be put back.
    """

    words: PlaceWords
    elsewhere: float
    zones: tuple[tuple[tuple[str, ...], float], ...]

    def at(self, points: Floats) -> Floats:
        """Return the thickness (n,) [m] at plan points (n, 2) [m]."""
        found = np.full(len(points), -np.inf)
        for zone, thickness in self.zones:
            found = np.where(self.words.covers(zone, points), np.maximum(found, thickness), found)
        return np.asarray(np.where(np.isfinite(found), found, self.elsewhere))

    def __str__(self) -> str:
        """Return the limits as one says them: "2.60 mm between the holes, 2.10 mm elsewhere"."""
        zones = [f"{thickness / MM:.2f} mm {', '.join(zone)}" for zone, thickness in self.zones]
        return "; ".join([*zones, f"{self.elsewhere / MM:.2f} mm elsewhere"])
