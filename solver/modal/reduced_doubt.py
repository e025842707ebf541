"""How far a reduced model's answer is off, as far as it can be told, and how far it may be off beyond that.

Answers come out too high by the strain energy that the plate would still give way by in shapes the model does not have.
Two things tell of it. What the weakest of its shapes took off is of the size of what the next ones would. And a stroke
narrower than the lattice of small hollows cannot be drawn with them: with s the share of the thickness taken, s' what is
left of it after its best fit by the lattice, and e the strain energy of a mode per area, as shares of the whole,

    S = integral of e (s / (1 - s))^2,    S' = integral of e (s' / (1 - s))^2

``undrawn = sqrt(S S')`` goes with the error where it is small, and less than that where it is not: ``1.5 undrawn / (1 +
undrawn / 0.002)`` is taken off every frequency, which takes two fifths off the median error of hollows 1 mm deep and a
third off the worst. The doubt that remains is ``1.3 (what the weakest took) + 1.6 undrawn``. The form and the figures were
found by trial, with 520 random hollows on the stock violin top, violin back and a viola top; the doubt covered 98 in a
hundred of their tones. The benchmark of the reduced model says what is left of the error and how often the doubt covers it.
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.linalg import cho_solve, cholesky

from solver.core.arrays import Floats, Singles, seal
from solver.modal.reduced_basis import ANSWERED
from solver.modal.reduced_section import ReducedSection
from solver.modal.responses import StrainedModes

EXPECTED, SATURATED = 1.5, 0.002
"""An answer is too high by ``EXPECTED undrawn`` where little cannot be drawn; half of that at ``SATURATED``."""

UNDRAWN, WEAKEST = 1.6, 1.3


@dataclass(frozen=True, eq=False)
class ReducedDoubt:
    """What is needed to tell, at p points in the order of the patches: ``energies`` (8, p) of the modes, shares of the
    whole, the lattice's ``hollows`` (h, p), and the Cholesky ``factor`` (h, h), upper, of their products over the plate.
    """

    energies: Singles
    hollows: sp.csr_array
    factor: Floats

    def __post_init__(self) -> None:
        seal(self, energies=((None, None), np.float32), factor=((None, None), np.float64))

    def undrawn(self, share: Floats, areas: Floats) -> Floats:
        """Return what of a stroke the lattice cannot draw (8,), as a share of each mode's energy.

        ``share`` (p,) of the thickness was taken at points with ``areas`` (p,) [m2].
        """
        drawn = cho_solve((self.factor, False), self.hollows @ (areas * share), check_finite=False)
        parts = np.stack([share, share - self.hollows.T @ drawn], axis=1) / (1 - share)[:, None]
        everything, left = (self.energies @ (parts**2).astype(np.float32)).T
        return np.asarray(np.sqrt(everything * left), np.float64)


def expected_excess(undrawn: Floats) -> Floats:
    """Return by which share of itself a frequency is expected to come out too high."""
    return EXPECTED * undrawn / (1 + undrawn / SATURATED)


def reduced_doubt(section: ReducedSection, strained: StrainedModes) -> ReducedDoubt:
    """Return what tells a plate's reduced model how far it may be off; ``strained`` are its lowest modes."""
    order = section.patches.order
    energies = np.diagonal(strained.energies, axis1=1, axis2=2)[order, :ANSWERED].T
    hollows = section.small.hollows[:, order].tocsr()
    products = (hollows.multiply(section.patches.areas) @ hollows.T).toarray()
    factor = cholesky(products, lower=False, check_finite=False)
    return ReducedDoubt(np.ascontiguousarray(energies), hollows, factor)
