"""What the section of the plate is when wood is taken from the inside: the outer surface stays, the middle moves.

At each point the stiffness and the inertia are matrices between jets (see `jets`). The outer surface fixed, they depend on
the thickness (through the section and the shift of its middle) and on its slope (through the frame of the middle surface).
The strip under the bar is left out: nobody thins under a bar that is glued on.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from solver.core.arrays import Floats, Ints
from solver.core.parallel import in_parallel
from solver.modal.assembly import ModalModel, layer_inertia, layer_stiffness
from solver.modal.jets import jet_layer
from solver.modal.layers import Layer, plate_layer
from solver.modal.strains import FIELDS

_STEP = 1e-3
_TILT = 1e-4


@dataclass(frozen=True, eq=False)
class SectionMatrices:
    """``stiffness`` (p, 15, 15) between jets [N/m ...] and ``inertia`` (p, 5, 5) between fields, ``mass`` (p,) [kg]."""

    stiffness: Floats
    inertia: Floats
    mass: Floats


@dataclass(frozen=True, eq=False)
class ThinnableSection:
    """The plate where it can be thinned, at p quadrature points of the ``elements`` (t,) outside the bar's strip."""

    elements: Ints
    layer: Layer

    @property
    def thickness(self) -> Floats:
        """Thickness (p,) [m] of the map that the model was built with."""
        return self.layer.middle.thickness

    @cached_property
    def built(self) -> SectionMatrices:
        """The section as it is."""
        return self.less(np.zeros(len(self.thickness)))

    def less(self, removal: Floats, slope: Floats | None = None) -> SectionMatrices:
        """Return the section with ``removal`` (p,) [m] taken from the inside, whose plan gradient is ``slope`` (p, 2).

        Left out, the slope is nought: the middle surface keeps the frame of the built map.
        """
        middle = self.layer.middle
        thickness = middle.thickness - removal
        tilt = middle.slope if slope is None else middle.slope + 0.5 * slope
        layer = replace(
            self.layer,
            middle=replace(middle, depth=-0.5 * thickness, slope=tilt, thickness=thickness),
        )
        inertia = layer_inertia(layer)[:, :FIELDS, :FIELDS]
        return SectionMatrices(layer_stiffness(layer), inertia, layer.wood.density * layer.volumes)

    def less_by(self, share: float) -> SectionMatrices:
        """Return the section with a share of the thickness taken everywhere, in the built frame."""
        return self.less(share * self.thickness) if share else self.built

    def change_by_depth(self) -> SectionMatrices:
        """Return the derivative [per m] with respect to the removal, by central differences.

        The section is a cubic in thickness to 1e-4, so with a step of a thousandth the difference is exact to 1e-6.
        """
        step = _STEP * self.thickness
        return _difference(self.less(step), self.less(-step), 2 * step)

    def change_by_slope(self) -> tuple[SectionMatrices, SectionMatrices]:
        """Return the derivatives with respect to the removal's plan gradient along x and y, exact to 1e-4."""
        nothing = np.zeros(len(self.thickness))
        tilts = [np.broadcast_to(_TILT * axis, (len(nothing), 2)) for axis in np.eye(2)]
        along_x, along_y = (
            _difference(tilted, self.built, np.full(len(nothing), _TILT))
            for tilted in in_parallel(lambda tilt: self.less(nothing, tilt), tilts)
        )
        return along_x, along_y


def thinnable_section(model: ModalModel) -> ThinnableSection:
    """Return the part of a plate that a maker can still thin from the inside."""
    elements = np.flatnonzero(~model.mesh.in_bar)
    return ThinnableSection(elements, jet_layer(plate_layer(model.plate, elements, model.cubic.stiffness)))


def _difference(after: SectionMatrices, before: SectionMatrices, step: Floats) -> SectionMatrices:
    return SectionMatrices(
        (after.stiffness - before.stiffness) / step[:, None, None],
        (after.inertia - before.inertia) / step[:, None, None],
        (after.mass - before.mass) / step,
    )
