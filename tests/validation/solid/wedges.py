"""The plan mesh carried through the thickness, and on through the bar, as 15-node wedges."""

from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Bools, Floats, Ints
from tests.validation.solid.plan_mesh import PlanMesh
from tests.validation.solid.plate import ReferencePlate


@dataclass(frozen=True, eq=False)
class WedgeMesh:
    """``nodes`` (n, 3) [m]; ``wedges`` (w, 15) in CalculiX's order; ``in_bar`` (w,): of the bar's wood."""

    nodes: Floats
    wedges: Ints
    in_bar: Bools

    @property
    def unknowns(self) -> int:
        """Three displacements at every node."""
        return int(self.nodes.size)


def wedge_mesh(plate: ReferencePlate, mesh: PlanMesh, layers: int = 1, bar_layers: int = 3) -> WedgeMesh:
    """Extrude along the outer normals: ``layers`` through the plate, ``bar_layers`` more through the bar."""
    place, normal = plate.surface(mesh.nodes)
    thick = plate.thickness_at(mesh.nodes)
    depths = [thick * k / (2 * layers) for k in range(2 * layers + 1)]
    wedges = [_layer(mesh.triangles, 2 * k, len(mesh.nodes)) for k in range(layers)]
    in_bar = [np.zeros(len(w), dtype=bool) for w in wedges]
    if plate.bar is not None:
        height = plate.bar.height_at(mesh.nodes)
        depths += [thick + height * k / (2 * bar_layers) for k in range(1, 2 * bar_layers + 1)]
        for k in range(layers, layers + bar_layers):
            wedges.append(_layer(mesh.triangles[mesh.under_bar], 2 * k, len(mesh.nodes)))
            in_bar.append(np.ones(len(wedges[-1]), dtype=bool))
    nodes = np.concatenate([place - d[:, None] * normal for d in depths])
    used, renumbered = np.unique(np.concatenate(wedges), return_inverse=True)
    return WedgeMesh(nodes[used], renumbered.reshape(-1, 15), np.concatenate(in_bar))


def _layer(triangles: Ints, level: int, count: int) -> Ints:
    """Wedges (t, 15) from a level to the second below: corners low and high, their middles, the uprights."""
    upper, middle, lower = (triangles + count * (level + k) for k in range(3))
    return np.hstack([lower[:, :3], upper[:, :3], lower[:, 3:], upper[:, 3:], middle[:, :3]])
