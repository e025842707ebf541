"""What the weather can do to any tone of any plate of a wood: a wider band than one plate needs, and no plate to solve."""

from dataclasses import dataclass

import numpy as np

from solver.plate.climate import Condition, mass_factor, moisture_losses, swelling, warmth, weather_species
from solver.plate.wood import Wood

BEYOND = 0.02
"""Share of its width by which the band is wider than the extremes: a flat panel's bending across the grain hangs on the
modulus along it by slightly less than nothing, -0.7 % of a half, because Poisson's ratio is held."""


@dataclass(frozen=True)
class ToneBounds:
    """How ``ln f`` of whatever tone answers to the weather.

    ``wet`` and ``size``: least and most change per 1 % moisture by the moduli, up to ``meeting_pct``, and by swelling.
    """

    wet: tuple[float, float]
    size: tuple[float, float]
    meeting_pct: float

    def shift(self, start: Condition, there: Condition) -> tuple[float, float]:
        """Return the least and the greatest change of ``ln f`` from one condition of the wood to another.

        All moduli together move every frequency by one half of their own change, and each alone by no less than nothing; so
        whatever the shares, the change lies between half the least and half the greatest change of any of them.
        """
        wetter = there.moisture_pct - start.moisture_pct
        by_water = min(there.moisture_pct, self.meeting_pct) - min(start.moisture_pct, self.meeting_pct)
        warm = warmth(there.temperature_c) - warmth(start.temperature_c)
        parts = (
            sorted(by_water * slope for slope in self.wet),
            sorted(wetter * slope for slope in self.size),
            (0.5 * float(warm.min()), 0.5 * float(warm.max())),
        )
        low, high = (sum(part[end] for part in parts) for end in (0, 1))
        more = BEYOND * (high - low)
        heavier = -0.5 * float(np.log(mass_factor(start, there)))
        return heavier + low - more, heavier + high + more


def tone_bounds(wood: Wood) -> ToneBounds:
    """Return the bounds for a wood.

    Swelling by ``e_x, e_y, e_z`` without growing heavier scales bending along the plate as ``K ~ h^3 b/l^3``, across it as
    ``h^3 l/b^3``, twisting as ``h^3/(l b)``, with ``2 d ln f = d ln K``. An arch, whose rise swells as the thickness does,
    is stretched by powers in between.
    """
    losses = 0.5 * moisture_losses(wood)
    x, y, z = (float(strain) for strain in swelling(wood))
    ways = (3 * z + y - 3 * x, 3 * z + x - 3 * y, 3 * z - x - y)
    return ToneBounds(
        (-float(losses.max()), -float(losses.min())),
        (0.5 * min(ways), 0.5 * max(ways)),
        weather_species(wood).drying.meeting.value,
    )
