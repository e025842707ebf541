"""The wood of a plate: nine elastic constants, a density and how the board was cut."""

from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats


@dataclass(frozen=True)
class Wood:
    """Orthotropic wood with its axes fixed in space: L along the grain, R across the rings, T along them.

    Moduli in Pa, density in kg/m3, angles in radians. ``grain`` turns L from +x towards +y in plan,
    ``ring`` then turns R about L from across the plate towards outward z: 0 is quarter-sawn, pi/2 slab-cut.
    """

    density: float
    EL: float
    ER: float
    ET: float
    GLR: float
    GLT: float
    GRT: float
    nu_LR: float
    nu_LT: float
    nu_RT: float
    grain: float = 0.0
    ring: float = 0.0
    species: str = ""

    def compliance(self) -> Floats:
        """Return the (6, 6) compliance [1/Pa] in L, R, T with the order LL, RR, TT, RT, LT, LR (engineering shear)."""
        s = np.zeros((6, 6))
        s[0, 0], s[1, 1], s[2, 2] = 1 / self.EL, 1 / self.ER, 1 / self.ET
        s[0, 1] = s[1, 0] = -self.nu_LR / self.EL
        s[0, 2] = s[2, 0] = -self.nu_LT / self.EL
        s[1, 2] = s[2, 1] = -self.nu_RT / self.ER
        s[3, 3], s[4, 4], s[5, 5] = 1 / self.GRT, 1 / self.GLT, 1 / self.GLR
        return s

    def axes(self) -> Floats:
        """Return the (3, 3) matrix whose rows are the unit vectors L, R, T in plate coordinates x, y, z.

        For quarter-sawn wood with no grain angle L = x, R = y, T = z.
        """
        cg, sg, cr, sr = np.cos(self.grain), np.sin(self.grain), np.cos(self.ring), np.sin(self.ring)
        along = np.array([cg, sg, 0.0])
        across = np.array([-sg, cg, 0.0])
        up = np.array([0.0, 0.0, 1.0])
        return np.array([along, cr * across + sr * up, -sr * across + cr * up])

    def is_stable(self) -> bool:
        """Tell whether the compliance is positive definite, as the energy of any real solid demands."""
        return bool(np.linalg.eigvalsh(self.compliance() * self.EL).min() > 0)
