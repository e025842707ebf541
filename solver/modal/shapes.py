"""The shapes of a free plate as its freedoms at the nodes, before anybody calls them by a number."""

from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats, Ints, freeze
from solver.modal.assembly import ModalModel
from solver.modal.eigen import factored_modes
from solver.modal.rigid import rigid_motions
from solver.modal.strains import FIELDS
from solver.modal.surface import surface_at


@dataclass(frozen=True, eq=False)
class FreeShapes:
    """The k lowest elastic shapes, mass-normalised, their largest motion outward.

    ``values`` (k,) [rad2/s2]; ``fields`` (k, n, 5) at plan ``nodes`` (n, 2) [m] with outward ``normals`` (n, 3);
    ``triangles`` (t, 3) between them; ``rigid`` (5 n, 6) the motions without strain.
    """

    values: Floats
    fields: Floats
    nodes: Floats
    normals: Floats
    triangles: Ints
    rigid: Floats

    def __post_init__(self) -> None:
        n = len(self.nodes)
        freeze(
            self,
            values=((None,), float),
            fields=((len(self.values), n, FIELDS), float),
            nodes=((n, 2), float),
            normals=((n, 3), float),
            triangles=((None, 3), int),
            rigid=((FIELDS * n, 6), float),
        )

    @property
    def normal_motion(self) -> Floats:
        """Motion (k, n) along the outward normal [kg^-1/2]."""
        return np.asarray(np.einsum("knc,nc->kn", self.fields[:, :, :3], self.normals))


def free_shapes(model: ModalModel, count: int) -> FreeShapes:
    """Return the ``count`` lowest elastic shapes of an assembled model."""
    plate, nodes = model.plate, model.cubic.nodes
    rigid = rigid_motions(plate.arch, nodes)
    pairs = factored_modes(model.factor, model.inertia, rigid, count, model.shift)
    normals = surface_at(plate.arch, nodes).normal
    fields = pairs.vectors.T.reshape(count, len(nodes), FIELDS)
    fields = fields * _facing_signs(fields, normals)[:, None, None]
    return FreeShapes(pairs.values, fields, nodes, normals, model.cubic.triangles, rigid)


def _facing_signs(fields: Floats, normals: Floats) -> Floats:
    """Signs (k,) that turn the largest motion of every shape outward."""
    motion = np.einsum("knc,nc->kn", fields[:, :, :3], normals)
    largest = np.abs(motion).argmax(axis=1)
    return np.asarray(np.sign(motion[np.arange(len(motion)), largest]))
