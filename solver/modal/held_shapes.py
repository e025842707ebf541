"""Shapes of a plate held fixed while the plate changes a little: their quotients tell the change of the tones.

Rayleigh's quotient ``u^T K u / u^T M u`` of a mode's own shape is stationary, so its change with the matrices is that of
the eigenvalue to first order (Lord Rayleigh, The Theory of Sound, par. 88-90). The energies are summed from strains at the
quadrature points, without a matrix of the plate.
"""

from collections.abc import Sequence

import numpy as np

from meshes.triangulate import PlateMesh
from solver.core.arrays import Floats
from solver.core.parallel import in_parallel
from solver.modal.assembly import layer_inertia
from solver.modal.jets import field_jets, jet_layer
from solver.modal.layers import Layer, layers, stiffening
from solver.modal.modes import Modes
from solver.modal.section import Part, part_stiffness
from solver.modal.shell import CubicMesh
from solver.modal.strains import FIELDS, layer_frame, strain_operators
from solver.plate.plate import Plate


def layer_strains(cubic: CubicMesh, layer: Layer, modes: Modes) -> tuple[Floats, Floats]:
    """Return stretch with shear (p, 5, k) and bending (p, 3, k) of the modes at the points of a layer."""
    nodal = modes.fields.reshape(len(modes.hz), -1).T
    return _strains(layer, field_jets(cubic, layer.elements, nodal).astype(np.float64))


def _strains(layer: Layer, jets: Floats) -> tuple[Floats, Floats]:
    """Return stretch with shear (p, 5, k) and bending (p, 3, k) of jets (p, 15, k) at the points of a layer."""
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
    stiff = sum(
        _strain_energy(layer, *layer_strains(cubic, layer, modes))
        for layer in stiffening(plate, mesh, cubic.stiffness)
    )
    heavy = sum(kinetic_share(cubic, layer, modes) for layer in layers(plate, mesh, cubic.mass))
    return np.asarray(stiff / heavy)


def held_slopes(
    plate: Plate, others: Sequence[tuple[Plate, float]], mesh: PlateMesh, cubic: CubicMesh, modes: Modes
) -> Floats:
    """Return ``d ln f`` (k, o) of the ``modes`` of a ``plate`` on the way to each of the ``others``, per unit of its step.

    ``(d(phi^T K phi) / lambda - d(phi^T M phi)) / (2 step)``; both are summed at the points of the stiffness, which for
    a change of the inertia is enough.
    """
    values = (2 * np.pi * modes.hz) ** 2
    plates = [plate, *(other for other, _ in others)]
    here, *there = in_parallel(lambda one: _energies(one, mesh, cubic, modes), plates)
    out = np.zeros((len(values), len(others)))
    for column, (energies, (_, step)) in enumerate(zip(there, others, strict=True)):
        stiff, heavy = energies - here
        out[:, column] = (stiff / values - heavy) / (2 * step)
    return out


def _energies(plate: Plate, mesh: PlateMesh, cubic: CubicMesh, modes: Modes) -> Floats:
    """Return ``phi^T K phi`` and ``phi^T M phi`` (2, k) by the points of the stiffness alone."""
    nodal = modes.fields.reshape(len(modes.hz), -1).T
    out = np.zeros((2, len(modes.hz)))
    for layer in stiffening(plate, mesh, cubic.stiffness):
        jets = field_jets(cubic, layer.elements, nodal).astype(np.float64)
        out[0] += _strain_energy(layer, *_strains(layer, jets))
        if layer.part in (Part.PLATE, Part.BAR):
            out[1] += _kinetic_energy(layer, jets[:, :FIELDS])
    return out


def kinetic_share(cubic: CubicMesh, layer: Layer, modes: Modes) -> Floats:
    """Return ``phi^T M phi`` (k,) of one layer; over all layers one, for mass-normalised modes."""
    return _kinetic_energy(layer, layer_motion(cubic, layer, modes))


def _kinetic_energy(layer: Layer, motion: Floats) -> Floats:
    """Return ``phi^T M phi`` (k,) of one layer whose points move by ``motion`` (p, 5, k)."""
    inertia = layer_inertia(jet_layer(layer))[:, :FIELDS, :FIELDS]
    return np.asarray((motion * (inertia @ motion)).sum(axis=(0, 1)))


def _strain_energy(layer: Layer, stretch: Floats, bend: Floats) -> Floats:
    """Return ``phi^T K phi`` (k,) of one layer [rad2/s2] from the strains of the shapes (p, 5, k) and (p, 3, k)."""
    frame = layer_frame(layer.surface, layer.middle)
    rigid = part_stiffness(layer.part, layer.wood, frame, layer.slenderness)
    bending = layer.volumes * layer.middle.thickness**2 / 12
    stretched = (stretch * (rigid.stretch @ stretch)).sum(axis=1)
    return np.asarray(layer.volumes @ stretched + bending @ (bend * (rigid.bend @ bend)).sum(axis=1))
