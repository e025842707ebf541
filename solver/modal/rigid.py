"""The six motions in which a free plate moves without strain."""

import numpy as np

from meshes.arch import Arch
from solver.core.arrays import Floats
from solver.modal.strains import FIELDS
from solver.modal.surface import surface_at


def rigid_motions(arch: Arch, nodes: Floats) -> Floats:
    """Return three shifts and three turns as columns (5 n, 6) of nodal freedoms.

    A turn by omega moves the outer surface by ``omega x X`` and the director by ``omega x n = theta x n``; the turn
    about n itself is free, so ``theta = omega - n (omega_z / n_z)`` has no z-part.
    """
    points = np.column_stack([nodes, arch.at(nodes).height])
    points[:, :] -= points.mean(axis=0)
    normal = surface_at(arch, nodes).normal
    motions = np.zeros((len(nodes), FIELDS, 6))
    for k, axis in enumerate(np.eye(3)):
        motions[:, k, k] = 1.0
        motions[:, :3, 3 + k] = np.cross(axis, points)
        motions[:, 3:, 3 + k] = (axis - normal * (axis[2] / normal[:, 2:]))[:, :2]
    return motions.reshape(-1, 6)
