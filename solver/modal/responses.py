"""How the plate gives way where it is thinned: the shapes that a reduced model needs besides the modes.

A hollow shifts the middle surface, and the membrane, stiff as it is, must find another shape in the plane; bending gathers
where the plate is thin. The modes of the plate before know neither: with 40 or 80 of them a hollow of 0.5 mm comes out a
quarter of its change wrong. To first order the missing shape is the plate's answer ``K^-1 (dK - lambda dM) phi`` to the
forces of the thinned section. Small overlapping hollows on a lattice, times the few states of strain that the modes have
in each, span these answers; they are taken in order of their strain energy. Answers to thinning the whole plate, and the
answers to those, are added for changes of the whole map.
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from solver.core.arrays import Floats, Singles
from solver.modal.assembly import ModalModel
from solver.modal.jets import field_jets
from solver.modal.lattice import Lattice
from solver.modal.reduced_section import ReducedSection
from solver.modal.strains import FIELDS

SECANT = 0.25
"""Share of the thickness by whose taking the section's change is judged."""


@dataclass(frozen=True, eq=False)
class StrainedModes:
    """What m modes, scaled to unit strain energy, do at p points of the wood.

    ``energies`` (p, m, m) are their products in the section as built, ``thinning`` (p, 15, m) the resultants that taking
    the same share of the thickness everywhere makes of them.
    """

    energies: Singles
    thinning: Singles


def strained_modes(
    model: ModalModel, section: ReducedSection, shapes: Floats, values: Floats
) -> StrainedModes:
    """Return what modes with ``shapes`` (5 n, m) and eigenvalues ``values`` (m,) [rad2/s2] do at the wood's points."""
    wood = section.wood
    jets = field_jets(model.cubic, wood.elements, shapes / np.sqrt(values))
    stress = wood.built.stiffness.astype(np.float32) @ jets
    stiffness, inertia = section.cubic.secant(SECANT)
    thinning = stiffness @ jets
    thinning[:, :FIELDS] -= (inertia @ jets[:, :FIELDS]) * values.astype(np.float32)
    return StrainedModes(np.swapaxes(jets, 1, 2) @ stress, thinning)


@dataclass(frozen=True, eq=False)
class LocalSources:
    """Resultants of thinning here and there: source k is row k of ``depths`` (k, p) times ``thinning @ turns[:, k]``."""

    depths: sp.csr_array
    thinning: Singles
    turns: Singles

    def resultants(self, some: slice) -> Singles:
        """Return ``some`` of the sources (p, 15, b)."""
        depths = self.depths[some].toarray().astype(np.float32).T
        sources: Singles = self.thinning @ self.turns[:, some]
        sources *= depths[:, None]
        return sources


def strongest_sources(lattice: Lattice, modes: StrainedModes, count: int) -> LocalSources:
    """Return the ``count`` sources in the lattice's hollows that hold most strain energy, the strongest first.

    In each hollow the m modes are turned so that their energies in it part; most of it lies in the first three. A hollow
    that an edge cuts gives way more easily and counts as half-way to a whole.
    """
    m = modes.energies.shape[1]
    squares = lattice.hollows.multiply(lattice.hollows).tocsr()
    inside = np.asarray(squares @ modes.energies.reshape(-1, m * m), np.float64).reshape(-1, m, m)
    energy, turns = np.linalg.eigh(inside)
    energy /= np.sqrt(lattice.whole)[:, None]
    hollow, column = np.divmod(np.argsort(-energy, axis=None, kind="stable")[:count], m)
    return LocalSources(
        lattice.hollows[hollow], modes.thinning, turns[hollow, :, column].T.astype(np.float32)
    )
