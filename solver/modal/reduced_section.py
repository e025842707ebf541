"""What a reduced model needs of a plate's wood, and nothing of its modes: it can be made while they are solved for."""

from dataclasses import dataclass

import numpy as np
from threadpoolctl import threadpool_limits

from solver.core.arrays import Floats, Singles, freeze, seal
from solver.modal.assembly import ModalModel
from solver.modal.lattice import Lattice, lattice
from solver.modal.patches import Patches, make_patches
from solver.modal.section_cubic import SectionCubic, section_cubic
from solver.modal.strains import FIELDS
from solver.modal.thinned_section import ThinnableSection, thinnable_section


@dataclass(frozen=True, eq=False)
class ReducedSection:
    """The ``wood`` that can be thinned, at p quadrature points (p, 2) [m], and what thinning makes of it.

    ``cubic`` holds how the section answers to a share of its thickness; ``tilting`` (2, p, 15, 15), in the order of the
    ``patches``, what each of a patch's lines, as a share of the thickness, changes in the section by its slope; ``small``
    the lattice's hollows at the points.
    """

    wood: ThinnableSection
    points: Floats
    cubic: SectionCubic
    patches: Patches
    tilting: Singles
    small: Lattice

    def __post_init__(self) -> None:
        freeze(self, points=((None, 2), float))
        seal(self, tilting=((2, len(self.points), 3 * FIELDS, 3 * FIELDS), np.float32))


def reduced_section(model: ModalModel) -> ReducedSection:
    """Return what a plate's wood does when it is thinned."""
    with threadpool_limits(1, user_api="blas"):
        wood = thinnable_section(model)
        points = model.cubic.stiffness.points[wood.elements].reshape(-1, 2)
        cubic = section_cubic(wood)
        patches = make_patches(points, wood.layer.weights)
        small = lattice(model.plate.outline, points, wood.layer.weights)
        return ReducedSection(wood, points, cubic, patches, _tilting(wood, patches), small)


def _tilting(wood: ThinnableSection, patches: Patches) -> Singles:
    slopes = np.repeat(patches.slopes, patches.lengths, axis=0) * wood.thickness[patches.order, None, None]
    along = np.stack([by.stiffness[patches.order] for by in wood.change_by_slope()])
    return np.asarray(np.einsum("pla,apij->lpij", slopes, along), np.float32)
