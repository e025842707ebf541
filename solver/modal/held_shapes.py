"""Shapes of a plate held fixed while the plate changes a little: their quotients tell the change of the tones.

Rayleigh's quotient ``u^T K u / u^T M u`` of a mode's own shape is stationary, so its change with the matrices is that of
the eigenvalue to first order (Lord Rayleigh, The Theory of Sound, par. 88-90). The energies are summed from strains at the
quadrature points, without a matrix of the plate.
"""

from itertools import chain

import numpy as np

from meshes.triangulate import PlateMesh
from solver.arrays import Floats
from solver.modal.assembly import layer_inertia
from solver.modal.jets import field_jets, jet_layer
from solver.modal.layers import Layer, bar_roots, layers
from solver.modal.modes import Modes
from solver.modal.section import part_stiffness
from solver.modal.shell import CubicMesh
from solver.modal.strains import FIELDS, layer_frame, strain_operators
from solver.plate.plate import Plate


def layer_strains(cubic: CubicMesh, layer: Layer, modes: Modes) -> tuple[Floats, Floats]:
    """Return stretch with shear (p, 5, k) and bending (p, 3, k) of the modes at the points of a layer."""
    nodal = modes.fields.reshape(len(modes.hz), -1).T
    jets = field_jets(cubic, layer.elements, nodal).astype(np.float64)
    points = jet_layer(layer)
    frame = layer_frame(points.surface, points.middle)
    stretch, bend = strain_operators(points.surface, points.middle, frame, points.values, points.gradients)
    return stretch @ jets, bend @ jets


def layer_motion(cubic: CubicMesh, layer: Layer, modes: Modes) -> Floats:
    """Return the five fields (p, 5, k) of the modes at the mass points of a layer."""
    nodal = np.moveaxis(modes.fields, 0, -1)[cubic.elements[layer.elements]]
    return np.asarray(
        np.einsum("qn,tnfk->tqfk", cubic.mass.values, nodal, optimize=True).reshape(-1, FIELDS, len(modes.hz))
    )


def held_quotients(plate: Plate, mesh: PlateMesh, cubic: CubicMesh, modes: Modes) -> Floats:
    """Return Rayleigh's quotient (k,) [rad2/s2] that the ``modes``' shapes have on a ``plate`` with the same mesh."""
    heavy = sum(kinetic_share(cubic, layer, modes) for layer in layers(plate, mesh, cubic.mass))
    return np.asarray(np.diag(held_stiffness(plate, mesh, cubic, modes)) / heavy)


def held_stiffness(plate: Plate, mesh: PlateMesh, cubic: CubicMesh, modes: Modes) -> Floats:
    """Return ``phi^T K phi`` (k, k) [rad2/s2]: the strain energy of the shapes, and of each two."""
    return np.asarray(
        sum(
            _strain_energy(cubic, layer, modes)
            for layer in chain(layers(plate, mesh, cubic.stiffness), bar_roots(plate, mesh, cubic.stiffness))
        )
    )


def kinetic_share(cubic: CubicMesh, layer: Layer, modes: Modes) -> Floats:
    """Return ``phi^T M phi`` (k,) of one layer; over all layers one, for mass-normalised modes."""
    motion = layer_motion(cubic, layer, modes)
    inertia = layer_inertia(jet_layer(layer))[:, :FIELDS, :FIELDS]
    return np.asarray(np.einsum("pak,pak->k", motion, inertia @ motion))


def _strain_energy(cubic: CubicMesh, layer: Layer, modes: Modes) -> Floats:
    """Return ``phi^T K phi`` (k, k) of one layer [rad2/s2]."""
    stretch, bend = layer_strains(cubic, layer, modes)
    frame = layer_frame(layer.surface, layer.middle)
    rigid = part_stiffness(layer.part, layer.wood, frame, layer.slenderness)
    bending = layer.volumes * layer.middle.thickness**2 / 12
    stretched = np.tensordot(
        stretch, layer.volumes[:, None, None] * (rigid.stretch @ stretch), ((0, 1), (0, 1))
    )
    bent = np.tensordot(bend, bending[:, None, None] * (rigid.bend @ bend), ((0, 1), (0, 1)))
    return np.asarray(stretched + bent)
