"""Wood in another climate, whole: what the linear response to the weather is held against."""

from dataclasses import replace

import numpy as np

from solver.plate.climate import GROUPS, Condition, mass_factor, stiffness_change, swollen_by
from solver.plate.wood import Wood


def wood_at(wood: Wood, start: Condition, end: Condition, bound: int) -> Wood:
    """Return the wood that is stated for one condition as it is in another, at the low (0) or high (1) end of the band.

    Poisson's ratios stay: no rule is known for them.
    """
    factors = np.exp(stiffness_change(wood, start, end)[:, bound])
    swollen = float(swollen_by(wood, end.moisture_pct - start.moisture_pct).prod())
    values = {
        constant: getattr(wood, constant) * float(factor)
        for (_, constants), factor in zip(GROUPS, factors, strict=True)
        for constant in constants
    }
    return replace(wood, density=wood.density * mass_factor(start, end) / swollen, **values)
