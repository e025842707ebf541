"""How far a reduced model's answer is off, as far as it can be told, and how far it may be off beyond that.

Answers come out too high by the strain energy that the plate would still give way by in shapes the model does not have.
Two things tell of it. What the weakest of its shapes took off is of the size of what the next ones would. And a stroke
narrower than the lattice of small hollows cannot be drawn with them: with s the share of the thickness taken, s' what is
left of it after its best fit by the lattice, and e the strain energy of a mode per area, as shares of the whole,

    S = integral of e (s / (1 - s))^2,    S' = integral of e (s' / (1 - s))^2

``undrawn = sqrt(S S')`` goes with the error: 1.2 of it is taken off every frequency, which lowers the worst error for
hollows of 1 mm by a fifth, and the doubt that remains is ``1.8 (what the weakest took) + 2.6 undrawn``. The form and the
three figures were found by trial, with random hollows on the stock violin top and back; the benchmark of the reduced model
says what is left of the error and how often the doubt covers it.
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_triangular

from solver.arrays import Floats, Singles, freeze
from solver.modal.assembly import ModalModel
from solver.modal.jets import field_jets
from solver.modal.modes import Modes
from solver.modal.reduced_basis import ANSWERED
from solver.modal.reduced_section import ReducedSection
from solver.modal.responses import lattice_hollows

EXPECTED = 1.2
"""Of what cannot be drawn, the share by which an answer is too high."""

UNDRAWN, WEAKEST = 2.6, 1.8


@dataclass(frozen=True, eq=False)
class ReducedDoubt:
    """What is needed to tell, at p points: ``energies`` (8, p) of the modes, shares of the whole, and ``drawn`` (h, p),
    the lattice's small hollows made orthonormal over the plate.
    """

    energies: Singles
    drawn: Singles

    def __post_init__(self) -> None:
        freeze(self, energies=((None, None), np.float32), drawn=((None, None), np.float32))

    def undrawn(self, share: Floats, areas: Floats) -> Floats:
        """Return what of a stroke the lattice cannot draw (8,), as a share of each mode's energy.

        ``share`` (p,) of the thickness was taken at points with ``areas`` (p,) [m2].
        """
        rest = share - (self.drawn @ (areas * share).astype(np.float32)) @ self.drawn
        everything, left = (self.energies @ (part / (1 - share)) ** 2 for part in (share, rest))
        return np.asarray(np.sqrt(everything * left), np.float64)


def reduced_doubt(model: ModalModel, modes: Modes, section: ReducedSection) -> ReducedDoubt:
    """Return what tells a plate's reduced model how far it may be off; points stand in the order of the patches."""
    patches = section.patches
    shapes = modes.fields[:ANSWERED].reshape(ANSWERED, -1).T
    jets = field_jets(model.cubic, section.wood.elements, shapes)
    strained = section.wood.built.stiffness.astype(np.float32) @ jets
    energies = np.einsum("pak,pak->kp", strained, jets) / (2 * np.pi * modes.hz[:ANSWERED, None]) ** 2
    points = section.points[patches.order]
    hollows = np.stack([h.at(points) for h in lattice_hollows(model.plate.outline, points)])
    lower = np.linalg.cholesky((hollows * patches.areas) @ hollows.T)
    drawn = solve_triangular(lower.astype(np.float32), hollows.astype(np.float32), lower=True)
    return ReducedDoubt(energies[:, patches.order], np.asarray(drawn, np.float32))
