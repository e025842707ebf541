"""Tones that lie close together, driven apart because the grain is not quite straight or the rings not quite upright.

Angles of the wood couple shapes that are even across the plate with those that are odd. Where two tones lie far apart
that hardly shows; where they lie close, their shapes mix and they repel each other as much as the coupling is strong
(veering: A. W. Leissa, J. Appl. Math. Phys. 25 (1974) 99; from memory). No constant of the wood can do that.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np

from solver.core.arrays import Floats, freeze
from solver.modal.modes import Modes
from solver.modal.wood_sensitivity import WoodSensitivity
from solver.plate.plate_doubt import Doubts

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(5)


@dataclass(frozen=True, eq=False)
class Couplings:
    """What couples k shapes if the wood lies askew.

    ``values`` (k,) [rad2/s2] of the tones as the wood lies; ``by_angle`` (2, k, k) [rad2/s2] per radian of grain and of
    rings; on a plate that is the same left and right nought for a shape with itself.
    """

    values: Floats
    by_angle: Floats

    def __post_init__(self) -> None:
        k = len(self.values)
        freeze(self, values=((k,), float), by_angle=((2, k, k), float))

    def askew(self, grain: float, rings: float) -> tuple[Floats, Floats]:
        """Return tones (k,) [rad2/s2] and shapes (k, k), one column each, with angles [rad] besides those stated."""
        moved = np.diag(self.values) + grain * self.by_angle[0] + rings * self.by_angle[1]
        values, shapes = np.linalg.eigh(moved)
        return values, shapes


def couplings(wood: WoodSensitivity, modes: Modes) -> Couplings:
    """Return what couples the ``modes`` of a plate: ``phi_i^T dK phi_j`` by each angle, to first order.

    What an angle does to the second order, to either side alike, goes into the constants across the grain.
    """
    return Couplings((2 * np.pi * modes.hz) ** 2, wood.turning)


def askew_factors(couple: Couplings, doubts: Doubts) -> Floats:
    """Return factors (k, 4) of ``ln f`` of the tones that are open because the wood may lie askew.

    Angles have a normal law around those stated; with each, the tones are mu_j and their shapes v_j in terms of those
    before. The maker's number goes with the shape, so tone i is then at the mu_j that it is most like, at either of two
    that are half of it: with chances as ``v_ij^8``. The squares of a row sum up to the mean of ``(ln mu_j - ln
    lambda_i)^2 / 4``. Of the tones in their order the first factor is the mean way, where the lower of two goes down and
    the other up; the next two are what goes with grain and with rings to either side, nought on a plate that is the
    same left and right; the last is the rest, of each tone by itself.
    """
    square, ways = np.zeros(len(couple.values)), np.zeros((len(couple.values), 3))
    nodes = list(zip(_NODES, _WEIGHTS / _WEIGHTS.sum(), strict=True))
    for (grain, one), (rings, other) in product(nodes, nodes):
        values, shapes = couple.askew(doubts.grain * grain, doubts.rings * rings)
        logs = 0.5 * np.log(values[None] / couple.values[:, None])
        like = shapes**8 / (shapes**8).sum(axis=1, keepdims=True)
        square += one * other * (like * logs**2).sum(axis=1)
        ways += one * other * np.outer(np.diag(logs), [1.0, grain, rings])
    rest = np.sqrt(np.maximum(square - (ways**2).sum(axis=1), 0.0))
    return np.column_stack([ways, rest])
