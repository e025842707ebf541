"""What a shaving does to first order: Hz and grams for a little wood taken anywhere.

With mass-normalised shapes ``phi`` the eigenvalue ``lambda = (2 pi f)^2`` changes by ``phi^T (dK - lambda dM) phi``
(R. L. Fox and M. P. Kapoor, AIAA J. 6 (1968) 2426), an integral over the plate of what the section there contributes. A
removal r(x, y), outer surface fixed, acts by its depth (thinner section, middle moved outward, less inertia) and by
its slope (the middle surface tilts against the grain):

    df = integral over the plan of (by_depth r + by_slope . grad r)
"""

from dataclasses import dataclass

import numpy as np

from meshes.removal import Removal
from solver.core.arrays import Floats, Ints, Singles, freeze
from solver.core.units import GRAM, MM
from solver.modal.assembly import ModalModel
from solver.modal.jets import field_jets
from solver.modal.modes import Modes
from solver.modal.strains import FIELDS
from solver.modal.thinned_section import SectionMatrices, ThinnableSection, thinnable_section

SHAVING = 0.1 * MM * 1e-4
"""The volume [m3] that figures are quoted for at the bench: 0.1 mm from 1 cm2."""


@dataclass(frozen=True, eq=False)
class Sensitivity:
    """First-order change of k modes by wood taken from the inside, at p places outside the bar's strip.

    ``places`` (p, 2) [m] are quadrature points with plan ``areas`` (p,) [m2]; ``by_depth`` (k, p) [Hz/m3] and ``by_slope``
    (k, p, 2) [Hz/m2] the densities of the formula above; ``mass_by_depth`` (p,) [kg/m3]. The same for drawing, on the n
    nodes of the modes: ``hz_map`` (k, n) [Hz] and ``gram_map`` (n,) [g] per 0.1 mm from 1 cm2, in the bar's strip only what
    its edges have, or nought.
    """

    places: Floats
    areas: Floats
    by_depth: Floats
    by_slope: Floats
    mass_by_depth: Floats
    hz_map: Floats
    gram_map: Floats

    def __post_init__(self) -> None:
        p, k = len(self.places), len(self.by_depth)
        freeze(
            self,
            places=((None, 2), float),
            areas=((p,), float),
            by_depth=((k, p), float),
            by_slope=((k, p, 2), float),
            mass_by_depth=((p,), float),
            hz_map=((k, None), float),
            gram_map=((None,), float),
        )

    def hz_change(self, removal: Removal) -> Floats:
        """Return the change (k,) [Hz] of the modes by ``removal``, to first order."""
        depth = self.areas * removal.at(self.places)
        slope = self.areas[:, None] * removal.gradient(self.places)
        return np.asarray(self.by_depth @ depth + np.tensordot(self.by_slope, slope, 2))

    def mass_change(self, removal: Removal) -> float:
        """Return the change of mass [kg] by ``removal``, to first order."""
        return float(self.mass_by_depth @ (self.areas * removal.at(self.places)))


@dataclass(frozen=True, eq=False)
class DepthEffect:
    """The part of `Sensitivity` that the depth of a removal has, without its slope: ``places`` (p, 2) [m], ``areas`` (p,)
    [m2], ``by_depth`` (k, p) [Hz/m3], ``mass_by_depth`` (p,) [kg/m3]."""

    places: Floats
    areas: Floats
    by_depth: Floats
    mass_by_depth: Floats

    def __post_init__(self) -> None:
        p = len(self.places)
        freeze(
            self,
            places=((p, 2), float),
            areas=((p,), float),
            by_depth=((None, p), float),
            mass_by_depth=((p,), float),
        )


def thinning_sensitivity(model: ModalModel, modes: Modes) -> Sensitivity:
    """Return what taking a little wood anywhere does to each of the ``modes`` of ``model``, and to its mass."""
    section = thinnable_section(model)
    jets = _jets(model, section, modes)
    effect = _depth_effect(model, section, jets, modes.hz)
    slope = np.stack([_hz_share(by, jets, modes.hz) for by in section.change_by_slope()], axis=2)
    areas, draw = effect.areas, _NodeMap(model, section.elements)
    return Sensitivity(
        effect.places,
        areas,
        effect.by_depth,
        slope / areas[:, None],
        effect.mass_by_depth,
        SHAVING * draw.smoothed(effect.by_depth * areas, slope),
        SHAVING / GRAM * draw.smoothed((effect.mass_by_depth * areas)[None], np.zeros((1, len(areas), 2)))[0],
    )


def depth_effect(model: ModalModel, modes: Modes) -> DepthEffect:
    """Return what `thinning_sensitivity` says of depth alone, in a third of the time."""
    section = thinnable_section(model)
    return _depth_effect(model, section, _jets(model, section, modes), modes.hz)


def _depth_effect(model: ModalModel, section: ThinnableSection, jets: Singles, hz: Floats) -> DepthEffect:
    areas, by_depth = section.layer.weights, section.change_by_depth()
    places = model.cubic.stiffness.points[section.elements].reshape(-1, 2)
    return DepthEffect(places, areas, _hz_share(by_depth, jets, hz) / areas, by_depth.mass / areas)


def _jets(model: ModalModel, section: ThinnableSection, modes: Modes) -> Singles:
    k, n = modes.fields.shape[:2]
    return field_jets(model.cubic, section.elements, modes.fields.reshape(k, FIELDS * n).T)


def wood_shares(model: ModalModel, modes: Modes) -> tuple[Floats, Floats]:
    """Return places (p, 2) [m] outside the bar's strip, and what an area of wood adds to each tone there (k, p) [Hz/m2].

    Strain energy raises a tone and mass lowers it; where a hole is cut or widened, this is what goes.
    """
    section = thinnable_section(model)
    jets = _jets(model, section, modes)
    places = model.cubic.stiffness.points[section.elements].reshape(-1, 2)
    return places, _hz_share(section.built, jets, modes.hz) / section.layer.weights


def _hz_share(change: SectionMatrices, jets: Singles, hz: Floats) -> Floats:
    """Each point's share (k, p) of ``df = phi^T (dK - lambda dM) phi / (8 pi^2 f)``."""
    fields = jets[:, :FIELDS]
    stiffness = np.einsum("pak,pab,pbk->kp", jets, change.stiffness, jets, optimize=True)
    inertia = np.einsum("pak,pab,pbk->kp", fields, change.inertia, fields, optimize=True)
    return np.asarray(stiffness / (8 * np.pi**2 * hz[:, None]) - 0.5 * hz[:, None] * inertia)


@dataclass(frozen=True, eq=False)
class _NodeMap:
    """Carries densities from quadrature points to nodes, for drawing.

    The value at a corner of the triangles is the effect of the hat function H that is 1 there and falls to 0 at its
    neighbours, per volume of the hat: ``sum (by_depth H + by_slope . grad H) / integral of H``. In between it is linear.
    """

    model: ModalModel
    elements: Ints

    def smoothed(self, depth: Floats, slope: Floats) -> Floats:
        """Return the map (k, n) on the nodes from shares (k, p) and (k, p, 2) of the points."""
        cubic, corners = self.model.cubic, self.model.cubic.elements[self.elements][:, :3]
        sampling, (t, q) = cubic.stiffness, (len(self.elements), len(cubic.stiffness.values))
        hats, tilts = self._hats()
        shares = np.einsum("ktq,qc->ktc", depth.reshape(-1, t, q), hats)
        shares += np.einsum("ktqx,tqcx->ktc", slope.reshape(-1, t, q, 2), tilts)
        volumes = np.einsum("tq,qc->tc", sampling.weights[self.elements], hats)
        at_corners = np.zeros((len(shares), len(cubic.nodes)))
        total = np.bincount(corners.ravel(), volumes.ravel(), minlength=len(cubic.nodes))
        for k, share in enumerate(shares):
            at_corners[k] = np.bincount(corners.ravel(), share.ravel(), minlength=len(cubic.nodes))
        return self._between(at_corners / np.where(total > 0, total, 1.0))

    def _hats(self) -> tuple[Floats, Floats]:
        """Linear functions of the three corners (q, 3) and their plan gradients (t, q, 3, 2), from the cubic ones."""
        sampling = self.model.cubic.stiffness
        gradients = np.einsum("tqnx,nc->tqcx", sampling.gradients[self.elements], _CORNER_SHARES)
        return sampling.values @ _CORNER_SHARES, gradients

    def _between(self, at_corners: Floats) -> Floats:
        """Fill the nodes inside and along the edges of the triangles."""
        elements = self.model.cubic.elements
        out = np.zeros_like(at_corners)
        out[:, elements] = at_corners[:, elements[:, :3]] @ _CORNER_SHARES.T
        return out


# Share of each corner at an element's ten nodes: corners, thirds of edges 01, 12, 02, centre (the order in `shell`).
_CORNER_SHARES = (
    np.array(
        [
            [3, 0, 0],
            [0, 3, 0],
            [0, 0, 3],
            [2, 1, 0],
            [1, 2, 0],
            [0, 2, 1],
            [0, 1, 2],
            [2, 0, 1],
            [1, 0, 2],
            [1, 1, 1],
        ]
    )
    / 3
)
