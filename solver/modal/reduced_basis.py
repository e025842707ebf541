"""The few shapes in which a reduced model moves."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from solver.core.arrays import Floats, Ints, Singles, seal
from solver.core.parallel import THREADS, in_parallel
from solver.modal.assembly import ModalModel
from solver.modal.eigen import orthonormal
from solver.modal.jets import field_jets, nodal_forces
from solver.modal.modes import Modes
from solver.modal.reduced_section import ReducedSection
from solver.modal.responses import SECANT, LocalSources, StrainedModes, strongest_sources
from solver.modal.rigid import rigid_motions

ANSWERED = 8
"""Modes that a reduced model answers for."""

STRAINED = ANSWERED + 2
"""Modes for which it knows how the plate gives way."""

FINE = ANSWERED + 4
"""Lowest modes whose products with every shape count to first order."""

LOCAL = 160
"""Shapes by which the plate gives way to small hollows."""

WITHHELD = 60
"""The weakest of these; what they contribute measures what is missing."""

_AT_ONCE = 24
"""Forces answered together: half the time each takes alone; larger batches leave a thread idle at the end."""

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
        square = ((size, size), np.float64)
        seal(self, shapes=((None, None), np.float32), stiffness=square, inertia=square)


@dataclass(frozen=True, eq=False)
class _Answers:
    """Room for forces on the plate as built (k, 5 n), apart from its ``known`` shapes (5 n, c), and for the answers.

    ``shapes`` (k, 5 n) are ``(K - shift M)^-1 forces``, one per row; ``heavy`` (5 n, c) is ``M known``.
    """

    model: ModalModel
    elements: Ints
    known: Floats
    heavy: Floats
    forces: Floats
    shapes: Floats

    def answer(self, rows: slice, resultants: Singles) -> None:
        """Fill ``rows`` with the answers to resultants (p, 15, b) in the section."""
        forces = nodal_forces(self.model.cubic, self.elements, resultants).T
        np.subtract(forces, (forces @ self.known) @ self.heavy.T, out=self.forces[rows])
        self.shapes[rows] = self.model.factor.solve(self.forces[rows].T).T

    def answer_sources(self, rows: slice, sources: LocalSources, first: int) -> None:
        """Fill ``rows`` with the answers to local sources, whose own rows begin at ``first``."""
        self.answer(rows, sources.resultants(slice(rows.start - first, rows.stop - first)))


def reduced_basis(
    model: ModalModel, modes: Modes, section: ReducedSection, strained: StrainedModes
) -> ReducedBasis:
    """Return rigid motions, modes, and how the plate gives way to thinning everywhere and here and there.

    ``strained`` are the lowest ten modes at the section's points.
    """
    shapes = modes.fields.reshape(len(modes.hz), -1).T
    rigid = orthonormal(rigid_motions(model.plate.arch, model.cubic.nodes), model.inertia)
    known = np.column_stack([rigid, shapes])
    here = strongest_sources(section.small, strained, LOCAL)
    broad, count = 2 * STRAINED, 2 * STRAINED + here.turns.shape[1]
    room = (np.empty((count, len(known))) for _ in range(2))
    answers = _Answers(model, section.wood.elements, known, np.asarray(model.inertia @ known), *room)

    def everywhere() -> None:
        answers.answer(slice(0, STRAINED), strained.thinning)
        softer = section.cubic.secant(SECANT)[0]
        again = field_jets(model.cubic, answers.elements, answers.shapes[:STRAINED].T)
        answers.answer(slice(STRAINED, broad), softer @ again)

    batches = [slice(a, min(a + _AT_ONCE, count)) for a in range(broad, count, _AT_ONCE)]
    work: list[Callable[[], None]] = [everywhere]
    work += [partial(answers.answer_sources, rows, here, broad) for rows in batches]
    in_parallel(lambda some: some(), work)
    return _joined(answers, (2 * np.pi * modes.hz) ** 2)


def _joined(answers: _Answers, values: Floats) -> ReducedBasis:
    """Join the known shapes and the answers to a basis.

    Answers are apart from the known shapes in stiffness and inertia, and made orthonormal in ``K - shift M``, whose
    products of them are those of answers and forces: first the strong ones, then those to be withheld.
    """
    model, known = answers.model, answers.known
    forces = answers.forces.T
    products = np.vstack(in_parallel(lambda some: some @ forces, np.array_split(answers.shapes, THREADS)))
    size = np.sqrt(np.diag(products))
    products = 0.5 * (products + products.T) / (size[:, None] * size)
    into, withheld = _orthonormal_in_turn(products, len(products) - WITHHELD)
    into /= size[:, None]
    m, r = len(values), into.shape[1]
    shapes = np.empty((len(known), known.shape[1] + r), np.float32)
    shapes[:, : known.shape[1]] = known
    responses = shapes[:, known.shape[1] :]
    responses[:] = answers.shapes.T.astype(np.float32) @ into.astype(np.float32)
    full = model.inertia.astype(np.float32)
    heavy = np.vstack(
        in_parallel(lambda some: (full @ some).T @ responses, np.array_split(responses, THREADS, axis=1))
    )
    stiffness, inertia = np.zeros((m + r, m + r)), np.eye(m + r)
    inertia[m:, m:] = 0.5 * (heavy + heavy.T)
    stiffness[:m, :m] = np.diag(values)
    stiffness[m:, m:] = np.eye(r) + model.shift * inertia[m:, m:]
    return ReducedBasis(shapes, stiffness, inertia, m, withheld)


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
