"""Fields at a point: their values and plan derivatives, and the forces that stress in them puts on the nodes.

At a point of the plate the shell's energy needs the five fields, their x-derivatives and their y-derivatives: fifteen
numbers, here called the jet. Everything that depends on thickness lies between the jets, as a 15 x 15 matrix at each point.
"""

from dataclasses import replace

import numpy as np
import scipy.sparse as sp

from solver.core.arrays import Floats, Ints, Singles
from solver.modal.layers import Layer
from solver.modal.shell import CubicMesh
from solver.modal.strains import FIELDS

JET = 3 * FIELDS
"""Numbers in a jet: five fields, their x-derivatives, their y-derivatives."""


def field_jets(cubic: CubicMesh, elements: Ints, shapes: Floats | Singles) -> Singles:
    """Return the jets (p, 15, m), single precision, of nodal ``shapes`` (5 n, m) at the elements' p points."""
    m = shapes.shape[1]
    nodal = shapes.astype(np.float32).reshape(-1, FIELDS, m)[cubic.elements[elements]]
    jets = _interpolation(cubic, elements) @ nodal.reshape(len(elements), -1, FIELDS * m)
    return np.asarray(jets.reshape(-1, JET, m))


def nodal_forces(cubic: CubicMesh, elements: Ints, resultants: Singles) -> Floats:
    """Return the forces (5 n, m) on the nodes that do the work ``jet . resultant`` (p, 15, m): the jets' transpose."""
    t, m = len(elements), resultants.shape[2]
    inside = np.swapaxes(_interpolation(cubic, elements), 1, 2) @ resultants.reshape(t, -1, FIELDS * m)
    numbers = cubic.elements[elements].ravel()
    to_nodes = sp.csr_array(
        (np.ones(len(numbers), np.float32), (numbers, np.arange(len(numbers)))),
        shape=(len(cubic.nodes), len(numbers)),
    )
    return np.asarray(to_nodes @ inside.reshape(len(numbers), -1), np.float64).reshape(-1, m)


def jet_layer(layer: Layer) -> Layer:
    """Return the layer as points with fifteen freedoms each, so that its element matrices are those between jets."""
    p = len(layer.weights)
    gradients = np.zeros((p, 3, 2))
    gradients[:, 1, 0] = gradients[:, 2, 1] = 1.0
    return replace(layer, elements=np.arange(p), values=np.tile([1.0, 0.0, 0.0], (p, 1)), gradients=gradients)


def _interpolation(cubic: CubicMesh, elements: Ints) -> Singles:
    """Matrices (t, 3 q, 10) from an element's nodes to value, x- and y-derivative at its points."""
    sampling, t = cubic.stiffness, len(elements)
    values = np.broadcast_to(sampling.values[:, None], (t, len(sampling.values), 1, 10))
    rows = np.concatenate([values, np.swapaxes(sampling.gradients[elements], 2, 3)], axis=2)
    return rows.reshape(t, -1, rows.shape[3]).astype(np.float32)
