"""Stiffness and mass of the free plate as sparse matrices."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import SuperLU

from meshes.triangulate import PlateMesh
from solver.core.arrays import Floats, Ints, freeze
from solver.core.parallel import in_parallel
from solver.modal.eigen import factored
from solver.modal.layers import Layer, layers, stiffening
from solver.modal.section import part_stiffness
from solver.modal.shell import NODES_PER_ELEMENT, CubicMesh
from solver.modal.strains import FIELDS, director_motion, layer_frame, strain_operators
from solver.plate.plate import Plate
from solver.plate.wood import Wood


@dataclass(frozen=True, eq=False)
class ModalModel:
    """A plate ready to be solved: ``K u = omega^2 M u`` with five fields at each of n nodes.

    ``stiffness`` and ``inertia`` (5 n, 5 n) symmetric, in csc form; ``mass`` [kg]; ``shift`` [rad2/s2] below zero, of the
    size of the lowest elastic eigenvalues.
    """

    plate: Plate
    mesh: PlateMesh
    cubic: CubicMesh
    stiffness: sp.csc_array
    inertia: sp.csc_array
    mass: float
    shift: float

    @cached_property
    def factor(self) -> SuperLU:
        """The factors of ``K - shift M``, found once for the modes and for whatever else the plate is asked."""
        return factored(self.stiffness, self.inertia, self.shift)


@dataclass(frozen=True, eq=False)
class BlockPattern:
    """Where an element's 5 x 5 node blocks fall in the global matrix.

    ``rows``, ``columns`` (b,) are the global blocks in order; ``slot`` (t, 10, 10) the block of each pair of nodes.
    """

    rows: Ints
    columns: Ints
    slot: Ints
    nodes: int

    def __post_init__(self) -> None:
        freeze(self, rows=((None,), int), columns=((None,), int), slot=((None, 10, 10), int))

    def matrix(self, blocks: Floats) -> sp.csc_array:
        """Return the (5 n, 5 n) matrix with the given blocks (b, 5, 5)."""
        start = np.concatenate([[0], np.cumsum(np.bincount(self.rows, minlength=self.nodes))])
        size = FIELDS * self.nodes
        return sp.csc_array(sp.bsr_array((blocks, self.columns, start), shape=(size, size)))


def block_pattern(cubic: CubicMesh) -> BlockPattern:
    """Return the block pattern of a mesh, found once for both matrices."""
    n = len(cubic.nodes)
    keys = cubic.elements[:, :, None] * n + cubic.elements[:, None, :]
    unique, slot = np.unique(keys, return_inverse=True)
    return BlockPattern(unique // n, unique % n, slot.reshape(keys.shape), n)


def assemble(plate: Plate, mesh: PlateMesh, cubic: CubicMesh) -> ModalModel:
    """Return stiffness, inertia and mass of ``plate`` on ``mesh``."""
    pattern = block_pattern(cubic)
    stiff = _gather(
        pattern,
        in_parallel(lambda x: (x.elements, layer_stiffness(x)), stiffening(plate, mesh, cubic.stiffness)),
    )
    heavy = _gather(
        pattern, in_parallel(lambda x: (x.elements, layer_inertia(x)), layers(plate, mesh, cubic.mass))
    )
    inertia = pattern.matrix(heavy)
    mass = _mass(inertia)
    shift = _shift(plate.wood, float(cubic.mass.weights.sum()), mass)
    return ModalModel(plate, mesh, cubic, pattern.matrix(stiff), inertia, mass, shift)


def _mass(inertia: sp.csc_array) -> float:
    """Mass [kg]: twice the kinetic energy of a shift of the whole plate by unit speed, here along z."""
    shifted = np.zeros(inertia.shape[0])
    shifted[2::FIELDS] = 1.0
    return float(shifted @ (inertia @ shifted))


def _shift(wood: Wood, area: float, mass: float) -> float:
    """Minus the square of a plain estimate of the first elastic frequency, that of a flat plate of this area and mass."""
    thickness = mass / (wood.density * area)
    speed = np.sqrt(np.sqrt(wood.EL * wood.ER) / wood.density)
    return -float((2 * np.pi * 0.5 * speed * thickness / area) ** 2)


def _gather(pattern: BlockPattern, portions: Iterable[tuple[Ints, Floats]]) -> Floats:
    """Sum element matrices (t, 50, 50) into the global blocks (b, 5, 5)."""
    total = np.zeros((len(pattern.rows), FIELDS * FIELDS))
    for elements, matrices in portions:
        t = len(elements)
        split = matrices.reshape(t, NODES_PER_ELEMENT, FIELDS, NODES_PER_ELEMENT, FIELDS)
        blocks = np.ascontiguousarray(np.swapaxes(split, 2, 3)).reshape(-1, FIELDS * FIELDS)
        slots = pattern.slot[elements].ravel()
        into = sp.csr_array(
            (np.ones(len(slots)), (slots, np.arange(len(slots)))), shape=(len(total), len(slots))
        )
        total += np.asarray(into @ blocks)
    return total.reshape(-1, FIELDS, FIELDS)


def layer_stiffness(layer: Layer) -> Floats:
    """Element matrices (t, 50, 50) [N/m and N m] of a layer: stretch with shear times h, bending times h^3/12."""
    frame = layer_frame(layer.surface, layer.middle)
    stretch, bend = strain_operators(layer.surface, layer.middle, frame, layer.values, layer.gradients)
    rigid = part_stiffness(layer.part, layer.wood, frame, layer.slenderness)
    both = np.concatenate([stretch, bend], axis=1)
    weighted = np.concatenate(
        [
            (rigid.stretch * layer.volumes[:, None, None]) @ stretch,
            (rigid.bend * (layer.volumes * layer.middle.thickness**2 / 12)[:, None, None]) @ bend,
        ],
        axis=1,
    )
    return _summed(both, weighted, len(layer.elements))


def layer_inertia(layer: Layer) -> Floats:
    """Element matrices (t, 50, 50) [kg and kg m2] of a layer, rotation about its middle included."""
    p, nodes = layer.values.shape
    director, _ = director_motion(layer.surface)
    turned = np.zeros((p, 3, nodes, FIELDS))
    turned[..., 3:] = np.einsum("pn,pfk->pknf", layer.values, director)
    moved = layer.middle.depth[:, None, None, None] * turned
    for k in range(3):
        moved[:, k, :, k] += layer.values
    both = np.concatenate([moved, turned], axis=1).reshape(p, 6, -1)
    mass = layer.wood.density * layer.volumes
    share = np.repeat(np.stack([mass, mass * layer.middle.thickness**2 / 12], axis=1), 3, axis=1)
    return _summed(both, share[:, :, None] * both, len(layer.elements))


def _summed(left: Floats, right: Floats, elements: int) -> Floats:
    """Sum ``left^T right`` (p, c, 50) over the quadrature points of each element."""
    shape = (elements, -1, left.shape[2])
    return np.asarray(np.swapaxes(left.reshape(shape), 1, 2) @ right.reshape(shape))
