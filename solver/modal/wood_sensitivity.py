"""How every tone hangs on the constants of the wood, to first order.

With mass-normalised shapes ``phi`` the eigenvalue ``lambda = (2 pi f)^2`` changes by ``phi^T (dK - lambda dM) phi``
(R. L. Fox and M. P. Kapoor, AIAA J. 6 (1968) 2426). Strains and their weights do not depend on the wood, so ``dK`` is an
integral over the section's own change, and that follows from the change of the compliance (see `section`). Under a
logarithm, ``d ln f / d ln P = dlambda / (2 lambda d ln P)``. The wood's angles turn the compliance; as they couple shapes
with each other, theirs is the whole matrix ``phi_i^T dK phi_j``.
"""

from dataclasses import dataclass, replace

import numpy as np

from solver.core.arrays import Floats, Ints, freeze
from solver.core.parallel import in_parallel
from solver.modal.assembly import ModalModel
from solver.modal.held_shapes import kinetic_share, layer_strains
from solver.modal.layers import Layer, layers, stiffening
from solver.modal.modes import Modes
from solver.modal.section import Part, part_stiffness_changes, turned_compliance
from solver.modal.strains import layer_frame
from solver.plate.species import CONSTANTS, Constant
from solver.plate.wood import Wood

STIFFNESSES: tuple[Constant, ...] = tuple(constant for constant in CONSTANTS if constant != "density")
"""The constants on which the stiffness of the plate hangs."""

ANGLES = ("grain", "ring")
"""The angles by which the plate's wood may lie otherwise."""
_TURN = 1e-4
"""Angle [rad] either way over which the change of the compliance is taken."""

# Where each constant stands in the compliance: rows and columns of L, R, T, RT, LT, LR, and the power it has there.
_PLACES: dict[Constant, tuple[tuple[tuple[int, int], ...], float]] = {
    "EL": (((0, 0), (0, 1), (0, 2)), -1.0),
    "ER": (((1, 1), (1, 2)), -1.0),
    "ET": (((2, 2),), -1.0),
    "GRT": (((3, 3),), -1.0),
    "GLT": (((4, 4),), -1.0),
    "GLR": (((5, 5),), -1.0),
    "nu_LR": (((0, 1),), 1.0),
    "nu_LT": (((0, 2),), 1.0),
    "nu_RT": (((1, 2),), 1.0),
}


@dataclass(frozen=True, eq=False)
class WoodSensitivity:
    """``d ln f / d ln P`` [-] of k modes by the ten constants, in the order of `CONSTANTS`.

    ``plate`` (k, 10) by the wood of the plate, ``bar`` (k, 10) by that of the bar, nought where there is none. Over all the
    moduli of both they add up to one half, over both densities to minus one half. ``turning`` (2, k, k) [rad2/s2] is
    ``phi_i^T dK phi_j`` per radian of each of the plate's `ANGLES`, a bar staying as it is.
    """

    plate: Floats
    bar: Floats
    turning: Floats

    def __post_init__(self) -> None:
        k = len(self.plate)
        shape = (k, len(CONSTANTS))
        freeze(self, plate=(shape, float), bar=(shape, float), turning=((len(ANGLES), k, k), float))

    @property
    def together(self) -> Floats:
        """The same (k, 10) where bar and plate are of one wood, or change alike."""
        return np.asarray(self.plate + self.bar)

    def some(self, places: Ints) -> "WoodSensitivity":
        """Return the same of the modes at some ``places`` alone, in that order."""
        return WoodSensitivity(
            self.plate[places], self.bar[places], self.turning[:, places[:, None], places[None]]
        )

    def by(self, *constants: Constant) -> Floats:
        """Return the columns (k, c) of some constants of the plate's wood."""
        return np.asarray(self.plate[:, [CONSTANTS.index(constant) for constant in constants]])


def wood_sensitivity(model: ModalModel, modes: Modes) -> WoodSensitivity:
    """Return how the ``modes`` of a ``model`` hang on the constants of its wood.

    A bar that is of the plate's own wood follows it: its share is then in ``plate``.
    """
    k, values = len(modes.hz), (2 * np.pi * modes.hz[:, None]) ** 2
    stiff = {wood: np.zeros((k, len(CONSTANTS))) for wood in ("plate", "bar")}
    turning = np.zeros((len(ANGLES), k, k))
    parts = list(stiffening(model.plate, model.mesh, model.cubic.stiffness))
    shares = in_parallel(lambda layer: _stiffness_share(model, layer, modes), parts)
    for layer, (share, turned) in zip(parts, shares, strict=True):
        stiff[_owner(layer)] += share
        turning += turned
    by_wood = {owner: share / (2 * values) for owner, share in stiff.items()}
    density = CONSTANTS.index("density")
    by_wood["bar"][:, density] = -0.5 * _bar_inertia(model, modes)
    by_wood["plate"][:, density] = -0.5 - by_wood["bar"][:, density]
    if model.plate.bar is not None and model.plate.bar.wood == model.plate.wood:
        return WoodSensitivity(by_wood["plate"] + by_wood["bar"], np.zeros_like(by_wood["bar"]), turning)
    return WoodSensitivity(by_wood["plate"], by_wood["bar"], turning)


def compliance_change(wood: Wood, constant: Constant) -> Floats:
    """Return ``dS / d ln P`` (6, 6) [1/Pa] of the compliance in L, R, T by one constant."""
    out, compliance = np.zeros((6, 6)), wood.compliance()
    places, power = _PLACES[constant]
    for i, j in places:
        out[i, j] = out[j, i] = power * compliance[i, j]
    return out


def turning_change(wood: Wood, angle: str) -> Floats:
    """Return ``dS`` (6, 6) [1/Pa] per radian of the compliance in the wood's own axes L, R, T as one angle turns it."""
    there = (replace(wood, **{angle: getattr(wood, angle) + step}) for step in (_TURN, -_TURN))
    high, low = (turned_compliance(turned, wood.axes()[None])[0] for turned in there)
    return np.asarray((high - low) / (2 * _TURN))


def _owner(layer: Layer) -> str:
    return "plate" if layer.part is Part.PLATE else "bar"


def _stiffness_share(model: ModalModel, layer: Layer, modes: Modes) -> tuple[Floats, Floats]:
    """Return ``phi^T (dK / d ln P) phi`` (k, 10) [rad2/s2] of one layer, nought for the density, and its `turning`."""
    stretch, bend = layer_strains(model.cubic, layer, modes)
    frame = layer_frame(layer.surface, layer.middle)
    volumes, bending = layer.volumes, layer.volumes * layer.middle.thickness**2 / 12
    k, angles = len(modes.hz), ANGLES if layer.part is Part.PLATE else ()
    share, turning = np.zeros((k, len(CONSTANTS))), np.zeros((len(ANGLES), k, k))
    by_constant = [compliance_change(layer.wood, constant) for constant in STIFFNESSES]
    by_angle = [turning_change(layer.wood, angle) for angle in angles]
    changes = part_stiffness_changes(
        layer.part, layer.wood, frame, layer.slenderness, np.array([*by_constant, *by_angle])
    )
    for name, change in zip((*STIFFNESSES, *angles), changes, strict=True):
        stretched, bent = change.stretch @ stretch, change.bend @ bend
        if name in ANGLES:
            both = (volumes[:, None, None] * stretched, bending[:, None, None] * bent)
            turning[ANGLES.index(name)] = sum(
                np.tensordot(one, other, ((0, 1), (0, 1)))
                for one, other in zip((stretch, bend), both, strict=True)
            )
        else:
            energy = volumes @ (stretch * stretched).sum(axis=1) + bending @ (bend * bent).sum(axis=1)
            share[:, CONSTANTS.index(name)] = energy
    return share, turning


def _bar_inertia(model: ModalModel, modes: Modes) -> Floats:
    """Return the share (k,) that the bar has in the kinetic energy of each mode."""
    bar = (x for x in layers(model.plate, model.mesh, model.cubic.mass) if x.part is Part.BAR)
    shares = (kinetic_share(model.cubic, layer, modes) for layer in bar)
    return np.asarray(sum(shares, np.zeros(len(modes.hz))))
