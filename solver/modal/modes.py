"""The free modes of a plate: frequencies, shapes, the trade's names for them."""

import time
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp
from threadpoolctl import threadpool_limits

from meshes.triangulate import triangulate
from solver.core.arrays import Floats, Ints, freeze
from solver.core.errors import InputError
from solver.modal.assembly import ModalModel, assemble
from solver.modal.eigen import orthonormal
from solver.modal.labels import (
    NAMED_AMONG,
    SharedPattern,
    mixed_patterns,
    names_by,
    node_areas,
    shared_pattern,
    traced_pattern,
)
from solver.modal.patterns import ModePatterns, mode_patterns
from solver.modal.shapes import free_shapes
from solver.modal.shell import cubic_mesh
from solver.modal.strains import FIELDS
from solver.plate.mode_label import NUMBERS
from solver.plate.plate import Plate

MOST_MODES = 40
"""More modes than this say nothing about a plate; the mesh is made for the first dozen or so."""


@dataclass(frozen=True, eq=False)
class Modes:
    """Elastic modes of a free plate in order of frequency, and what is needed to draw them.

    ``hz`` (k,); ``names`` the trade's mode numbers or None; ``amplitudes`` (k, 5) [-] the part of each number's pattern in
    each shape; ``points`` (n, 3) [m] of the outer surface with outward
    ``normals`` (n, 3), ``triangles`` (t, 3) between them, ``thickness`` (n,) [m]; ``fields`` (k, n, 5) the mass-normalised
    freedoms u_x u_y u_z [kg^-1/2] theta_x theta_y [kg^-1/2/m]; ``rigid_hz`` (6,) what the model makes of the six motions
    without strain (exactly 0 in truth); ``mass`` [kg]; ``seconds`` spent on mesh, assemble, solve;
    ``smoothed`` says what detail of the edges the mesh leaves out.
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
    amplitudes: Floats
    smoothed: tuple[str, ...] = ()

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
            amplitudes=((len(self.hz), len(NUMBERS)), float),
        )

    @property
    def shares(self) -> Floats:
        """Share (k, 5) of each number's pattern in each tone."""
        return self.amplitudes**2

    @property
    def mixed(self) -> tuple[SharedPattern, ...]:
        """The patterns that several tones share."""
        return mixed_patterns(self.names, self.shares)

    def pattern(self, name: str) -> SharedPattern:
        """Return which tones have part in the pattern of one of the trade's numbers."""
        return shared_pattern(self.shares, name)

    @property
    def parts(self) -> tuple[Mapping[str, float], ...]:
        """For each tone the numbers of whose patterns it shows a trace, with its share; the one that it bears at least."""
        out: list[dict[str, float]] = [{} if name is None else {name: 1.0} for name in self.names]
        for name in NUMBERS:
            pattern = traced_pattern(self.shares, name) if name in self.names else None
            for place, share in zip(pattern.places, pattern.shares, strict=True) if pattern else ():
                out[place][name] = share
        return tuple(out)

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
    return replace(modes, seconds=spent, smoothed=mesh.smoothed)


def modes_of(model: ModalModel, count: int, patterns: ModePatterns | None = None) -> Modes:
    """Return the modes of a model that is already assembled, named by the ``patterns``, else by those of its own plate."""
    plate = model.plate
    shapes = free_shapes(model, max(count, NAMED_AMONG))
    thickness = plate.graduation.at(shapes.nodes)
    wood = node_areas(shapes.nodes, shapes.triangles) * thickness / shapes.normals[:, 2]
    amplitudes = (patterns or mode_patterns(plate)).amplitudes(shapes.normal_motion, shapes.nodes, wood)
    modes = Modes(
        np.sqrt(shapes.values) / (2 * np.pi),
        names_by(amplitudes**2),
        np.column_stack([shapes.nodes, plate.arch.at(shapes.nodes).height]),
        shapes.normals,
        shapes.triangles,
        thickness,
        shapes.fields,
        rigid_residuals(model.stiffness, model.inertia, shapes.rigid),
        model.mass,
        {},
        amplitudes,
    )
    return lowest(modes, count)


def lowest(modes: Modes, count: int) -> Modes:
    """Return the ``count`` lowest of the modes, with the numbers that they have among all."""
    return replace(
        modes,
        hz=modes.hz[:count],
        names=modes.names[:count],
        fields=modes.fields[:count],
        amplitudes=modes.amplitudes[:count],
    )


def rigid_residuals(stiffness: sp.csc_array, inertia: sp.csc_array, rigid: Floats) -> Floats:
    """Frequency [Hz] (6,) that the strain energy left in each rigid motion would give; nought in an exact model."""
    motions = orthonormal(rigid, inertia)
    energy = np.einsum("nr,nr->r", motions, stiffness @ motions)
    return np.asarray(np.sqrt(np.abs(energy)) / (2 * np.pi))
