"""How the tones and the mass of a plate hang on all that is not known for sure: wood, arch, thickness, holes, bar.

Whatever moves tones as a whole has a parameter (`PARAMETERS`) that a fit can find; what is left moves each tone by
itself or in ways that nobody will find out, and is kept as factors Z of a covariance Z Z^T.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree
from threadpoolctl import threadpool_limits

from meshes.removal import thinned_graduation
from meshes.surface import KeptArch
from meshes.triangulate import PlateMesh, triangulate
from solver.advice.askew_wood import askew_factors, couplings
from solver.advice.mode_tracking import same_tones
from solver.advice.wood_prior import POISSON_SPREAD
from solver.core.arrays import Floats, freeze
from solver.core.units import MM
from solver.modal.assembly import ModalModel, assemble
from solver.modal.held_shapes import held_slopes
from solver.modal.modes import Modes, lowest, modes_of
from solver.modal.sensitivity import DepthEffect, depth_effect, wood_shares
from solver.modal.shell import CubicMesh, cubic_mesh
from solver.modal.wood_sensitivity import WoodSensitivity, wood_sensitivity
from solver.plate.mass import bar_mass
from solver.plate.plate import Plate
from solver.plate.plate_doubt import Doubts
from solver.plate.reshaped_arch import ArchForm, is_arched, with_arch_form
from solver.plate.species import CONSTANTS, POISSON
from solver.plate.wood_posterior import ARCH, FITTED, PARAMETERS

TONES = 8
_ASKEW = 4
"""Columns of factors by wood askew."""
_STEP = 1e-6
"""Change of the arch's form, and of the thickness in mm, over which slopes are taken: so small because an arch is stiff in
its own surface."""


@dataclass(frozen=True, eq=False)
class MeshedPlate:
    """A plate on a mesh that serves for every wood and every arch it may have."""

    plate: Plate
    mesh: PlateMesh
    cubic: CubicMesh

    def model(self, plate: Plate) -> ModalModel:
        """Return the model of the plate of another wood or arch."""
        return assemble(plate, self.mesh, self.cubic)


def meshed(plate: Plate, size: float | None = None) -> MeshedPlate:
    """Return the plate with its mesh of elements of a ``size`` [m]; raises InputError if no sound one can be made."""
    mesh = triangulate(plate.outline, None if plate.bar is None else plate.bar.footprint, size)
    return MeshedPlate(replace(plate, arch=KeptArch(plate.arch)), mesh, cubic_mesh(mesh))


@dataclass(frozen=True, eq=False)
class ToneResponse:
    """First-order answer of k tones and the mass to the q `PARAMETERS`, and what these leave open.

    ``modes`` of the plate as it is; ``slopes`` (k, q) of ``ln f`` and ``mass_slopes`` (q,) of ``ln m``; ``common``
    (k, c) factors that wood askew (the first four), Poisson's ratios and holes have in common on all states of one plate;
    ``uneven`` (k, r) factors of the thickness readings; ``rest`` [-] of each tone by itself; ``wood`` the part of the
    slopes that is the wood's own.
    """

    modes: Modes
    slopes: Floats
    mass_slopes: Floats
    common: Floats
    uneven: Floats
    rest: float
    wood: WoodSensitivity

    def __post_init__(self) -> None:
        k, q = len(self.modes.hz), len(PARAMETERS)
        freeze(
            self,
            slopes=((k, q), float),
            mass_slopes=((q,), float),
            common=((k, None), float),
            uneven=((k, None), float),
        )

    @property
    def askew(self) -> Floats:
        """By how much (k,) each tone is open by the angles of grain and rings (see `askew_factors`)."""
        return np.asarray(np.linalg.norm(self.common[:, :_ASKEW], axis=1))

    @property
    def own_covariance(self) -> Floats:
        """Covariance (k, k) of ``ln f`` by all that has no parameter."""
        single = self.rest**2 * np.eye(len(self.modes.hz))
        return np.asarray(single + self.common @ self.common.T + self.uneven @ self.uneven.T)


def tone_response(on: MeshedPlate, plate: Plate, doubts: Doubts, count: int = TONES) -> ToneResponse:
    """Return how the ``count`` lowest tones of ``plate`` hang on everything; ``on`` its mesh, it may be of other wood."""
    with threadpool_limits(1, user_api="blas"):
        model = on.model(plate)
        modes = modes_of(model, count)
        return response_of(on, model, modes, doubts)


def response_of(on: MeshedPlate, model: ModalModel, modes: Modes, doubts: Doubts) -> ToneResponse:
    """Return what `tone_response` does, for a plate that is solved already."""
    plate, wood, thinning = model.plate, wood_sensitivity(model, modes), depth_effect(model, modes)
    bar = wood.bar[:, [CONSTANTS.index(c) for c in FITTED if c != "density"]].sum(axis=1)
    slopes = np.column_stack([wood.by(*FITTED), _held_slopes(on, plate, modes), bar])
    common = np.column_stack(
        [
            askew_factors(couplings(wood, modes), doubts),
            POISSON_SPREAD * wood.by(*POISSON),
            *_hole_factors(model, modes, doubts),
        ]
    )
    return ToneResponse(
        modes,
        slopes,
        _mass_slopes(plate, modes, thinning),
        common,
        _uneven_factors(modes, thinning, doubts),
        float(np.hypot(doubts.theory, doubts.arch_rest)),
        wood,
    )


def lowest_response(of: ToneResponse, count: int, doubts: Doubts) -> ToneResponse:
    """Return the response of the ``count`` lowest tones alone, as `tone_response` gives it for so many."""
    modes, wood = lowest(of.modes, count), of.wood.some(np.arange(count))
    common = of.common[:count].copy()
    common[:, :_ASKEW] = askew_factors(couplings(wood, modes), doubts)
    return replace(
        of, modes=modes, slopes=of.slopes[:count], common=common, uneven=of.uneven[:count], wood=wood
    )


@dataclass(frozen=True)
class SlopesAgain:
    """Which slopes are made anew where a plate has changed: those by the ``wood``, those by the form of the ``arch``."""

    wood: bool
    arch: bool


def response_again(
    before: ToneResponse,
    on: MeshedPlate,
    model: ModalModel,
    modes: Modes,
    doubts: Doubts,
    again: SlopesAgain,
) -> ToneResponse:
    """Return the response of a plate of slightly other wood and arch.

    All slopes but those that are made anew hardly change and stay as ``before``, each with its tone where two have crossed.
    """
    kept = np.argsort(same_tones(before.modes, modes)[0])
    slopes, common, n = before.slopes[kept], before.common[kept], len(FITTED)
    wood = wood_sensitivity(model, modes) if again.wood else before.wood.some(kept)
    slopes[:, :n] = wood.by(*FITTED)
    if again.arch:
        slopes[:, n : n + len(ARCH) + 1] = _held_slopes(on, model.plate, modes)
    if again.wood:
        common[:, :_ASKEW] = askew_factors(couplings(wood, modes), doubts)
    return ToneResponse(modes, slopes, before.mass_slopes, common, before.uneven[kept], before.rest, wood)


@dataclass(frozen=True)
class _LessEverywhere:
    """The same depth [m] off everywhere, under the bar too: what a caliper that is not set to nought adds or takes."""

    depth: float

    def at(self, points: Floats) -> Floats:
        return np.full(len(points), self.depth)

    def gradient(self, points: Floats) -> Floats:
        return np.zeros((len(points), 2))


def _held_slopes(on: MeshedPlate, plate: Plate, modes: Modes) -> Floats:
    """Return ``d ln f`` (k, 4) per unit of the arch's form, nought on a flat plate, and per mm of every thickness."""
    out = np.zeros((len(modes.hz), len(ARCH) + 1))
    thicker = thinned_graduation(plate.graduation, _LessEverywhere(-_STEP * MM))
    others = [with_arch_form(plate, ArchForm(**{way: _STEP})) for way in ARCH] if is_arched(plate) else []
    steps = [(other, _STEP) for other in (*others, replace(plate, graduation=thicker))]
    out[:, -len(steps) :] = held_slopes(plate, steps, on.mesh, on.cubic, modes)
    return out


def _mass_slopes(plate: Plate, modes: Modes, thinning: DepthEffect) -> Floats:
    """Return ``d ln m`` (q,): by the density and by every thickness alike; the arch's form hardly adds to the surface."""
    out = np.zeros(len(PARAMETERS))
    out[0] = 1.0
    if plate.bar is not None and plate.bar.wood != plate.wood:
        out[0] = 1.0 - bar_mass(plate) / modes.mass
    out[PARAMETERS.index("caliper")] = -MM * float(thinning.mass_by_depth @ thinning.areas) / modes.mass
    return out


def _uneven_factors(modes: Modes, thinning: DepthEffect, doubts: Doubts) -> Floats:
    """Return the factors (k, r) of r patches, each as thick as one reading says, all off by themselves."""
    patches = np.floor(thinning.places / doubts.patch).astype(np.int64)
    _, patch = np.unique(patches, axis=0, return_inverse=True)
    by_patch = np.array([np.bincount(patch.ravel(), row) for row in thinning.by_depth * thinning.areas])
    return np.asarray(doubts.reading * by_patch / modes.hz[:, None])


def _hole_factors(model: ModalModel, modes: Modes, doubts: Doubts) -> Iterator[Floats]:
    """Yield the factor (k,) of each hole, whose edge is cut a little farther out all round."""
    holes = model.plate.outline.holes
    if not holes:
        return
    places, shares = wood_shares(model, modes)
    near = cKDTree(places)
    for hole in holes:
        edge = hole.sampled(MM)
        lengths = np.linalg.norm(np.roll(edge, -1, axis=0) - edge, axis=1)
        along = shares[:, near.query(edge)[1]] @ lengths
        yield -doubts.hole * along / modes.hz
