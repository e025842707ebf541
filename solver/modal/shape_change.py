"""What a little thinning does to the shape of a mode, to first order.

With mass-normalised shapes the shape of mode i changes by ``sum_j a_j phi_j``, ``a_j = phi_j^T (dK - lambda_i dM) phi_i /
(lambda_i - lambda_j)`` (R. L. Fox and M. P. Kapoor, AIAA J. 6 (1968) 2426), the rigid motions among the j; what it changes
along itself moves no line. The sum is cut off after the modes given: with 40 a hollow's effect on a low mode is right to
about a quarter, because they do not know how the wood gives way in its own plane.
"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from meshes.removal import Removal
from solver.core.arrays import Floats, freeze
from solver.modal.assembly import ModalModel
from solver.modal.eigen import orthonormal
from solver.modal.jets import field_jets
from solver.modal.modes import Modes
from solver.modal.rigid import rigid_motions
from solver.modal.strains import FIELDS
from solver.modal.surface import surface_at
from solver.modal.thinned_section import SectionMatrices, thinnable_section

_NEIGHBOURS = 12
_STEEP = 0.25
"""Where the motion rises less steeply than this share of the usual along its lines, they cross, and move without bounds."""


@dataclass(frozen=True, eq=False)
class ShapeChange:
    """What thinning at p ``places`` (p, 2) [m] adds to a mode's shape, in m other shapes.

    ``by_depth`` (m, p) and ``by_slope`` (m, p, 2): the coefficients ``a_j`` per removal and per its slope, each times the
    area that the place stands for; ``motion`` (m, n) is that of the other shapes along the normal at the ``nodes`` (n, 2)
    [m], ``own`` (n,) the mode's.
    """

    places: Floats
    by_depth: Floats
    by_slope: Floats
    nodes: Floats
    motion: Floats
    own: Floats

    def __post_init__(self) -> None:
        p, m, n = len(self.places), len(self.by_depth), len(self.nodes)
        freeze(
            self,
            places=((None, 2), float),
            by_depth=((m, p), float),
            by_slope=((m, p, 2), float),
            nodes=((n, 2), float),
            motion=((m, n), float),
            own=((n,), float),
        )

    def shares(self, removal: Removal) -> Floats:
        """Return how much (m,) of each other shape a removal adds."""
        slope = removal.gradient(self.places)
        return np.asarray(self.by_depth @ removal.at(self.places) + np.tensordot(self.by_slope, slope, 2))

    def line_shift(self, line: Floats) -> "LineShift":
        """Return how the points (s, 2) [m] of the mode's own node lines move."""
        motion, gradient = self._at(line)
        steep = np.linalg.norm(gradient, axis=1)
        across = gradient / np.maximum(steep, 1e-30)[:, None]
        floor = _STEEP * float(np.median(steep))
        return LineShift(across, -motion / np.maximum(steep, floor)[:, None])

    def _at(self, points: Floats) -> tuple[Floats, Floats]:
        """Return the other shapes (s, m) and the gradient (s, 2) of the own one, by planes through the nodes about."""
        near = cKDTree(self.nodes).query(points, k=_NEIGHBOURS)[1]
        off = self.nodes[near] - points[:, None]
        planes = np.linalg.pinv(np.concatenate([np.ones((*near.shape, 1)), off], axis=2))
        values = np.einsum("sk,msk->sm", planes[:, 0], self.motion[:, near])
        gradient = np.einsum("sak,sk->sa", planes[:, 1:], self.own[near])
        return np.asarray(values), np.asarray(gradient)


@dataclass(frozen=True, eq=False)
class LineShift:
    """How node line points move: along ``across`` (s, 2), by ``per_share`` (s, m) [m] for each other shape added."""

    across: Floats
    per_share: Floats


def shape_change(model: ModalModel, modes: Modes, index: int) -> ShapeChange:
    """Return what thinning anywhere outside the bar's strip does to the shape of the mode at place ``index``."""
    section = thinnable_section(model)
    rigid = orthonormal(rigid_motions(model.plate.arch, model.cubic.nodes), model.inertia)
    others = np.delete(np.arange(len(modes.hz)), index)
    k, n = modes.fields.shape[:2]
    shapes = np.concatenate([rigid, modes.fields.reshape(k, FIELDS * n)[others].T], axis=1)
    values = np.concatenate([np.zeros(rigid.shape[1]), (2 * np.pi * modes.hz[others]) ** 2])
    own_value = float((2 * np.pi * modes.hz[index]) ** 2)
    apart = own_value - values
    # two tones that all but coincide would mix without bounds, which is not to first order any more
    apart = np.sign(apart) * np.maximum(np.abs(apart), 0.02 * own_value)
    jets = np.asarray(field_jets(model.cubic, section.elements, shapes), np.float64)
    own = np.asarray(
        field_jets(model.cubic, section.elements, modes.fields[index].reshape(-1, 1)), np.float64
    )[..., 0]

    def shares(change: SectionMatrices) -> Floats:
        stiff = np.einsum("pab,pb->pa", change.stiffness, own)
        stiff[:, :FIELDS] -= own_value * np.einsum("pab,pb->pa", change.inertia, own[:, :FIELDS])
        return np.asarray(np.einsum("paj,pa->jp", jets, stiff) / apart[:, None])

    slopes = np.stack([shares(change) for change in section.change_by_slope()], axis=2)
    nodes = model.cubic.nodes
    normals = surface_at(model.plate.arch, nodes).normal
    motion = np.einsum("jnc,nc->jn", shapes.T.reshape(-1, n, FIELDS)[:, :, :3], normals)
    return ShapeChange(
        model.cubic.stiffness.points[section.elements].reshape(-1, 2),
        shares(section.change_by_depth()),
        slopes,
        nodes,
        motion,
        modes.normal_motion[index],
    )
