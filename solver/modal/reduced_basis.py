"""The few shapes in which a reduced model moves."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from solver.arrays import Floats, Ints, Singles, freeze
from solver.modal.assembly import ModalModel
from solver.modal.eigen import orthonormal
from solver.modal.jets import field_jets, nodal_forces
from solver.modal.modes import Modes
from solver.modal.reduced_section import ReducedSection
from solver.modal.responses import lattice_hollows, strongest_sources
from solver.modal.rigid import rigid_motions
from solver.modal.section_cubic import SectionCubic
from solver.modal.side_by_side import THREADS, both, side_by_side
from solver.modal.strains import FIELDS

ANSWERED = 8
"""Modes that a reduced model answers for; it knows how the plate gives way in these and two more."""

LOCAL = 190
"""Shapes by which the plate gives way to small hollows."""

WITHHELD = 60
"""The weakest of these; what they contribute measures what is missing."""

_AT_ONCE = 26
"""Forces answered together: half the time each takes alone; larger batches leave a thread idle at the end."""

_STRAINED = ANSWERED + 2
_SECANT = 0.25
_INDEPENDENT = 1e-6


@dataclass(frozen=True, eq=False)
class ReducedBasis:
    """Shapes (5 n, 6 + m + r): six rigid motions, ``modes`` m, responses r; of these the last ``withheld`` are the weakest.

    ``stiffness`` and ``inertia`` (m + r, m + r) are those of the plate as built between modes and responses; the rigid
    motions are apart from both in the two.
    """

    shapes: Singles
    stiffness: Floats
    inertia: Floats
    modes: int
    withheld: int

    def __post_init__(self) -> None:
        size = self.shapes.shape[1] - 6
        freeze(
            self,
            shapes=((None, None), np.float32),
            stiffness=((size, size), float),
            inertia=((size, size), float),
        )


@dataclass(frozen=True, eq=False)
class _Answers:
    """Answers ``(K - shift M)^-1 forces`` of the plate as built (k, 5 n), one per row, and the ``forces``."""

    shapes: Floats
    forces: Floats

    def then(self, other: "_Answers") -> "_Answers":
        """Return these and then the others."""
        return _Answers(np.vstack([self.shapes, other.shapes]), np.vstack([self.forces, other.forces]))


@dataclass(frozen=True, eq=False)
class _BuiltPlate:
    """The plate as built: it answers forces, from which it takes out those of its ``known`` shapes (5 n, c)."""

    model: ModalModel
    elements: Ints
    known: Floats

    def answers(self, resultants: Singles) -> _Answers:
        """Return the answers to resultants (p, 15, k) in the section."""
        forces = nodal_forces(self.model.cubic, self.elements, resultants).T
        heavy = self._heavy
        parts = side_by_side(
            lambda some: self._answers(some, heavy),
            np.array_split(forces, max(1, round(len(forces) / _AT_ONCE))),
        )
        return _Answers(*(np.vstack(rows) for rows in zip(*parts, strict=True)))

    @cached_property
    def _heavy(self) -> Floats:
        return np.asarray(self.model.inertia @ self.known)

    def _answers(self, forces: Floats, heavy: Floats) -> tuple[Floats, Floats]:
        rest = forces - (forces @ self.known) @ heavy.T
        return self.model.factor.solve(rest.T).T, rest


def reduced_basis(model: ModalModel, modes: Modes, section: ReducedSection) -> ReducedBasis:
    """Return rigid motions, modes, and how the plate gives way to thinning everywhere and here and there."""
    shapes = modes.fields.reshape(len(modes.hz), -1).T
    rigid = orthonormal(rigid_motions(model.plate.arch, model.cubic.nodes), model.inertia)
    elements, cubic = section.wood.elements, section.cubic
    built = _BuiltPlate(model, elements, np.column_stack([rigid, shapes]))
    values = (2 * np.pi * modes.hz) ** 2
    jets = field_jets(model.cubic, elements, shapes[:, :_STRAINED])
    thinning = _thinning(jets, values[:_STRAINED], cubic)

    def everywhere() -> _Answers:
        broad = built.answers(thinning)
        softer = cubic.secant(_SECANT)[0]
        return broad.then(built.answers(softer @ field_jets(model.cubic, elements, broad.shapes.T)))

    broad, here = both(everywhere, lambda: _local_sources(model, section, jets, thinning, values[:_STRAINED]))
    return _joined(model, built.known, values, broad.then(built.answers(here)))


def _thinning(jets: Singles, values: Floats, cubic: SectionCubic) -> Singles:
    """Resultants (p, 15, k) that thinning everywhere makes of the modes."""
    stiffness, inertia = cubic.secant(_SECANT)
    thinning = stiffness @ jets
    thinning[:, :FIELDS] -= (inertia @ jets[:, :FIELDS]) * values.astype(np.float32)
    return np.asarray(thinning)


def _local_sources(
    model: ModalModel, section: ReducedSection, jets: Singles, thinning: Singles, values: Floats
) -> Singles:
    """Resultants (p, 15, k) that thinning here and there, on the lattice, makes of the modes."""
    scale, points, wood = (1 / np.sqrt(values)).astype(np.float32), section.points, section.wood
    hollows = lattice_hollows(model.plate.outline, points)
    return strongest_sources(
        hollows, points, wood.layer.weights, jets * scale, thinning * scale, wood.built.stiffness, LOCAL
    )


def _joined(model: ModalModel, known: Floats, values: Floats, answers: _Answers) -> ReducedBasis:
    """Join the known shapes and the answers to a basis.

    Answers are apart from the known shapes in stiffness and inertia, and made orthonormal in ``K - shift M``, whose
    products of them are those of answers and forces: first the strong ones, then those to be withheld.
    """
    forces = answers.forces.T
    parts = np.array_split(answers.shapes, THREADS)
    products = np.vstack(side_by_side(lambda some: some @ forces, parts))
    size = np.sqrt(np.diag(products))
    products = 0.5 * (products + products.T) / (size[:, None] * size)
    into, withheld = _orthonormal_in_turn(products, len(products) - WITHHELD)
    into /= size[:, None]
    responses = answers.shapes.T.astype(np.float32) @ into.astype(np.float32)
    full = model.inertia.astype(np.float32)
    heavy = np.vstack(
        side_by_side(lambda some: (full @ some).T @ responses, np.array_split(responses, THREADS, axis=1))
    )
    m, r = len(values), responses.shape[1]
    stiffness, inertia = np.zeros((m + r, m + r)), np.eye(m + r)
    inertia[m:, m:] = 0.5 * (heavy + heavy.T)
    stiffness[:m, :m] = np.diag(values)
    stiffness[m:, m:] = np.eye(r) + model.shift * inertia[m:, m:]
    return ReducedBasis(np.hstack([known.astype(np.float32), responses]), stiffness, inertia, m, withheld)


def _orthonormal_in_turn(products: Floats, first: int) -> tuple[Floats, int]:
    """Columns (n, r), orthonormal in ``products`` (n, n), of the ``first`` vectors, then of the rest; how many of these."""
    done = np.zeros((len(products), 0))
    for span in (slice(0, first), slice(first, None)):
        block = np.eye(len(products))[:, span]
        block -= done @ (done.T @ products[:, span])
        energy, turn = np.linalg.eigh(block.T @ products @ block)
        kept = energy > _INDEPENDENT * energy[-1]
        before, done = done, np.hstack([done, block @ (turn[:, kept] / np.sqrt(energy[kept]))])
    return done, done.shape[1] - before.shape[1]
