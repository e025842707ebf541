"""What the weather does to the tones of a plate: for each mode a band, since no two rules for wood agree."""

from dataclasses import dataclass, replace

import numpy as np
from threadpoolctl import threadpool_limits

from meshes.triangulate import PlateMesh, triangulate
from solver.core.arrays import Floats, freeze
from solver.modal.assembly import assemble
from solver.modal.held_shapes import held_quotients
from solver.modal.modes import Modes, modes_of
from solver.modal.shell import cubic_mesh
from solver.modal.wood_sensitivity import WoodSensitivity, wood_sensitivity
from solver.plate.climate import GROUPS, Condition, mass_factor, stiffness_change, swelling, swollen_by
from solver.plate.plate import Plate
from solver.plate.species import CONSTANTS
from solver.plate.swollen import swollen_plate
from solver.plate.wood import Wood

TONES = 8
"""Tones whose answer to the weather is computed."""

_STEP = 1e-5
"""Strain by swelling over which slopes are taken: so small because an arch is stiff in its own surface."""


@dataclass(frozen=True, eq=False)
class WeatherResponse:
    """How the tones of one plate answer to the weather.

    ``stiffness`` (k, g) is ``d ln f/d ln P`` for the moduli along, across and in shear, one half in sum; ``size`` (k,) is
    ``d ln f`` per 1 % moisture by swelling alone, the wood that grows lighter per volume included.
    """

    plate: Plate
    modes: Modes
    stiffness: Floats
    size: Floats

    def __post_init__(self) -> None:
        k = len(self.modes.hz)
        freeze(self, stiffness=((k, len(GROUPS)), float), size=((k,), float))

    def shift(self, start: Condition, end: Condition) -> Floats:
        """Return the change of ``ln f`` (k, 2), low and high, from one condition of the wood to another.

        ``-1/2 ln(mass) + size dM + sum over g of stiffness_g d ln P_g``, where each ``d ln P_g`` lies anywhere in its own
        band. It is taken in the logarithms, so that the way back undoes the way there.
        """
        rules = self.stiffness[:, :, None] * stiffness_change(self.plate.wood, start, end)
        band = np.stack([rules.min(axis=2).sum(axis=1), rules.max(axis=2).sum(axis=1)], axis=1)
        wetter = end.moisture_pct - start.moisture_pct
        sure = self.size * wetter - 0.5 * np.log(mass_factor(start, end))
        return np.asarray(band + sure[:, None])

    def shift_of(self, name: str, start: Condition, end: Condition) -> Floats:
        """Return the band (2,) of a numbered mode; of one that the plate does not show, a band that holds all tones."""
        band = self.shift(start, end)
        if name in self.modes.names:
            return np.asarray(band[self.modes.names.index(name)])
        return np.array([band[:, 0].min(), band[:, 1].max()])


def weather_response(plate: Plate, count: int = TONES) -> WeatherResponse:
    """Return how the ``count`` lowest tones of a plate answer to the weather; a bar answers like the plate's wood.

    Raises InputError if no sound mesh can be made.
    """
    mesh = triangulate(plate.outline, None if plate.bar is None else plate.bar.footprint)
    # one thread: two hand the small matrices back and forth for longer than they take
    with threadpool_limits(1, user_api="blas"):
        model = assemble(plate, mesh, cubic_mesh(mesh))
        modes = modes_of(model, count)
        return weather_of(plate, mesh, modes, wood_sensitivity(model, modes))


def weather_of(plate: Plate, mesh: PlateMesh, modes: Modes, wood: WoodSensitivity) -> WeatherResponse:
    """Return what `weather_response` does, of a plate whose ``modes`` and their answer to the ``wood`` are known.

    All moduli together move every frequency by one half of their own change. What swelling does is found by Rayleigh's
    quotient ``u^T K u / u^T M u``: the change of the matrices with the modes held is the change of the eigenvalue to first
    order (Lord Rayleigh, The Theory of Sound, par. 88-90).
    """
    groups = [[CONSTANTS.index(constant) for constant in constants] for _, constants in GROUPS]
    stiffness = np.stack([wood.together[:, columns].sum(axis=1) for columns in groups], axis=1)
    more = _STEP / float(swelling(plate.wood).max())
    there, here = (_swollen_quotients(plate, mesh, modes, step) for step in (more, 0.0))
    size = np.log(there / here) / (2 * more)
    return WeatherResponse(plate, modes, stiffness, size)


def _swollen_quotients(plate: Plate, mesh: PlateMesh, modes: Modes, wetter_pct: float) -> Floats:
    """Return the modes' quotients (k,) on the plate swollen by so much moisture [%], no heavier, the mesh drawn along."""
    scale = swollen_by(plate.wood, wetter_pct)
    thinner = float(1 / scale.prod())
    wide = swollen_plate(plate, scale)
    bar = None if wide.bar is None else replace(wide.bar, wood=_lighter(wide.bar.wood, thinner))
    wide = replace(wide, wood=_lighter(wide.wood, thinner), bar=bar)
    stretched = replace(mesh, nodes=mesh.nodes * scale[:2])
    return held_quotients(wide, stretched, cubic_mesh(stretched), modes)


def _lighter(wood: Wood, factor: float) -> Wood:
    return replace(wood, density=wood.density * factor)
