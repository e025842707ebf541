"""The free modes of a plate: frequencies, shapes, the trade's names for them."""

import time
from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp
from threadpoolctl import threadpool_limits

from meshes.triangulate import triangulate
from solver.arrays import Floats, Ints, freeze
from solver.errors import InputError
from solver.modal.assembly import ModalModel, assemble
from solver.modal.eigen import factored_modes, orthonormal
from solver.modal.labels import mode_names
from solver.modal.rigid import rigid_motions
from solver.modal.shell import cubic_mesh
from solver.modal.strains import FIELDS
from solver.modal.surface import surface_at
from solver.plate.plate import Plate

MOST_MODES = 40
"""More modes than this say nothing about a plate; the mesh is made for the first dozen or so."""


@dataclass(frozen=True, eq=False)
class Modes:
    """Elastic modes of a free plate in order of frequency, and what is needed to draw them.

    ``hz`` (k,); ``names`` the trade's mode numbers or None; ``points`` (n, 3) [m] of the outer surface with outward
    ``normals`` (n, 3), ``triangles`` (t, 3) between them, ``thickness`` (n,) [m]; ``fields`` (k, n, 5) the mass-normalised
    freedoms u_x u_y u_z [kg^-1/2] theta_x theta_y [kg^-1/2/m]; ``rigid_hz`` (6,) what the model makes of the six motions
    without strain (exactly 0 in truth); ``mass`` [kg]; ``seconds`` spent on mesh, assemble, solve.
    """

    hz: Floats
    names: tuple[str | None, ...]
    points: Floats
    normals: Floats
    triangles: Ints
    thickness: Floats
    fields: Floats
    rigid_hz: Floats
    mass: float
    seconds: dict[str, float]

    def __post_init__(self) -> None:
        freeze(
            self,
            hz=((None,), float),
            points=((None, 3), float),
            normals=((None, 3), float),
            triangles=((None, 3), int),
            thickness=((None,), float),
            fields=((len(self.hz), len(self.points), FIELDS), float),
            rigid_hz=((6,), float),
        )

    @property
    def displacement(self) -> Floats:
        """Motion of the outer surface (k, n, 3) [kg^-1/2]."""
        return self.fields[:, :, :3]

    @property
    def normal_motion(self) -> Floats:
        """Its share along the outward normal (k, n) [kg^-1/2]; this is what powder shows."""
        return np.asarray(np.einsum("knc,nc->kn", self.displacement, self.normals))

    @property
    def unknowns(self) -> int:
        """Freedoms of the model."""
        return FIELDS * len(self.points)


def solve_modes(plate: Plate, count: int = 8, size: float | None = None) -> Modes:
    """Return the ``count`` lowest free modes of ``plate``; ``size`` is the element size [m] (default: by need).

    Raises
    ------
    InputError
        If ``count`` is not 1 to 40, or no sound mesh can be made.
    """
    if not 1 <= count <= MOST_MODES:
        raise InputError(
            f"count: {count} modes were asked for; expected 1 to {MOST_MODES}; choose a number in between"
        )
    start = time.perf_counter()
    mesh = triangulate(plate.outline, None if plate.bar is None else plate.bar.footprint, size)
    meshed = time.perf_counter()
    # one thread: two hand the small matrices back and forth for longer than they take
    with threadpool_limits(1, user_api="blas"):
        model = assemble(plate, mesh, cubic_mesh(mesh))
        assembled = time.perf_counter()
        modes = modes_of(model, count)
    spent = {"mesh": meshed - start, "assemble": assembled - meshed, "solve": time.perf_counter() - assembled}
    return replace(modes, seconds=spent)


def modes_of(model: ModalModel, count: int) -> Modes:
    """Return the modes of a model that is already assembled."""
    plate, nodes = model.plate, model.cubic.nodes
    rigid = rigid_motions(plate.arch, nodes)
    pairs = factored_modes(model.factor, model.inertia, rigid, count, model.shift)
    normals = surface_at(plate.arch, nodes).normal
    fields = pairs.vectors.T.reshape(count, len(nodes), FIELDS)
    fields = fields * _facing_signs(fields, normals)[:, None, None]
    motion = np.einsum("knc,nc->kn", fields[:, :, :3], normals)
    return Modes(
        np.sqrt(pairs.values) / (2 * np.pi),
        mode_names(motion, nodes, model.cubic.triangles),
        np.column_stack([nodes, plate.arch.at(nodes).height]),
        normals,
        model.cubic.triangles,
        plate.graduation.at(nodes),
        fields,
        rigid_residuals(model.stiffness, model.inertia, rigid),
        model.mass,
        {},
    )


def lowest(modes: Modes, count: int) -> Modes:
    """Return the ``count`` lowest of the modes, named as if no others were known."""
    motion = modes.normal_motion[:count]
    names = mode_names(motion, modes.points[:, :2], modes.triangles)
    return replace(modes, hz=modes.hz[:count], names=names, fields=modes.fields[:count])


def rigid_residuals(stiffness: sp.csc_array, inertia: sp.csc_array, rigid: Floats) -> Floats:
    """Frequency [Hz] (6,) that the strain energy left in each rigid motion would give; nought in an exact model."""
    motions = orthonormal(rigid, inertia)
    energy = np.einsum("nr,nr->r", motions, stiffness @ motions)
    return np.asarray(np.sqrt(np.abs(energy)) / (2 * np.pi))


def _facing_signs(fields: Floats, normals: Floats) -> Floats:
    """Signs (k,) that turn the largest motion of every shape outward."""
    motion = np.einsum("knc,nc->kn", fields[:, :, :3], normals)
    largest = np.abs(motion).argmax(axis=1)
    return np.asarray(np.sign(motion[np.arange(len(motion)), largest]))
