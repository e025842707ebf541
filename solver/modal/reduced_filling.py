"""How the tables of a reduced model are filled: the jets of its shapes and the section's cubic, group by group."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Ints, Singles
from solver.core.parallel import in_parallel
from solver.modal.assembly import ModalModel
from solver.modal.jets import field_jets
from solver.modal.patches import PATCHES_PER_GROUP, PATCHES_PER_ZONE, ZONES_PER_GROUP
from solver.modal.reduced_basis import FINE, ReducedBasis
from solver.modal.reduced_section import ReducedSection
from solver.modal.reduced_tables import LINES, POWERS, ReducedTables
from solver.modal.section_cubic import DEGREE
from solver.modal.strains import FIELDS


def reduced_tables(model: ModalModel, section: ReducedSection, basis: ReducedBasis) -> ReducedTables:
    """Tabulate a plate's reduced matrices against what is taken from it."""
    filling = _Filling(model, section, basis, *_room(section.patches.groups, basis))
    in_parallel(filling.fill, range(section.patches.groups))
    thickness = section.wood.thickness[section.patches.order]
    return ReducedTables(
        section.patches, thickness, filling.fine, filling.heavy, filling.crossing, filling.coarse
    )


def _room(groups: int, basis: ReducedBasis) -> tuple[Singles, Singles, Singles, Singles]:
    """Empty tables: fine, heavy, crossing, coarse."""
    size, known = len(basis.stiffness), 6 + basis.modes
    responses, others = size - basis.modes, size - FINE
    columns = (
        ((DEGREE + LINES) * PATCHES_PER_GROUP, FINE * size),
        ((POWERS + LINES) * PATCHES_PER_GROUP, known * (known + 1) // 2),
        (POWERS * PATCHES_PER_GROUP, FINE * responses),
        (POWERS * ZONES_PER_GROUP, others * (others + 1) // 2),
    )
    fine, heavy, crossing, coarse = (np.empty((groups, *shape), np.float32) for shape in columns)
    return fine, heavy, crossing, coarse


@dataclass(frozen=True, eq=False)
class _Filling:
    """Tables on their way; each group fills its own part of them."""

    model: ModalModel
    section: ReducedSection
    basis: ReducedBasis
    fine: Singles
    heavy: Singles
    crossing: Singles
    coarse: Singles

    def fill(self, which: int) -> None:
        """Tabulate one group."""
        patches, cubic, basis = self.section.patches, self.section.cubic, self.basis
        span, spans = patches.group(which)
        here, lines = patches.order[span], patches.lines[:, span].astype(np.float32)
        moved = self._jets_at(here)
        moving = np.ascontiguousarray(moved[:, :, 6:])
        lowest, others = moving[..., :FINE], np.ascontiguousarray(moving[..., FINE:])
        pushed = cubic.stiffness[:, here] @ lowest
        sloped = lines[:, :, None, None] * pushed[0] + self.section.tilting[:, span] @ lowest
        _products(self.fine[which], [*pushed, *sloped], moving, spans)

        known, responses = np.split(moved[:, :FIELDS], [6 + basis.modes], axis=2)
        carried = cubic.inertia[:POWERS, here] @ known
        lined = lines[:, :, None, None] * carried[0]
        _triangles(self.heavy[which], [*carried, *lined], known, spans)
        _products(self.crossing[which], carried[..., 6 : 6 + FINE], responses, spans)
        _triangles(self.coarse[which], cubic.quadratic(here) @ others, others, _zones(spans))

    def _jets_at(self, points: Ints) -> Singles:
        """Jets (q, 15, 6 + m + r) of all shapes at some points of the wood."""
        wood = self.section.wood
        each = len(wood.thickness) // len(wood.elements)
        element, within = np.divmod(points, each)
        needed, place = np.unique(element, return_inverse=True)
        jets = field_jets(self.model.cubic, wood.elements[needed], self.basis.shapes)
        return jets[place * each + within]


def _products(room: Singles, left: Sequence[Singles] | Singles, right: Singles, spans: list[slice]) -> None:
    """Products ``left_f^T right`` (f s, a b) over each of s spans of points, for each of f."""
    right = _columns(right)
    a, b, height = left[0].shape[2], right.shape[1], left[0].shape[1]
    rows = iter(room)
    for one in map(_columns, left):
        for span in spans:
            inside = slice(span.start * height, span.stop * height)
            np.matmul(one[inside].T, right[inside], out=next(rows).reshape(a, b))


def _triangles(room: Singles, left: Sequence[Singles] | Singles, right: Singles, spans: list[slice]) -> None:
    """Lower triangles (f s, c (c + 1) / 2) of ``left_f^T right`` over each of s spans of points, for each of f."""
    below = np.flatnonzero(np.tri(right.shape[2]))
    height, right = right.shape[1], _columns(right)
    product = np.zeros((right.shape[1],) * 2, np.float32)
    rows = iter(room)
    for one in map(_columns, left):
        for span in spans:
            inside = slice(span.start * height, span.stop * height)
            _lower(one[inside], right[inside], product)
            np.take(product, below, out=next(rows))


def _lower(left: Singles, right: Singles, product: Singles) -> None:
    """The ``product`` ``left^T right`` (c, c) of columns, without the quarter over the diagonal."""
    half = len(product) // 2
    np.matmul(left[:, :half].T, right[:, :half], out=product[:half, :half])
    np.matmul(left[:, half:].T, right, out=product[half:])


def _columns(shapes: Singles) -> Singles:
    """Shapes (p, a, c) as columns (p a, c)."""
    return shapes.reshape(-1, shapes.shape[2])


def _zones(spans: list[slice]) -> list[slice]:
    firsts, lasts = spans[::PATCHES_PER_ZONE], spans[PATCHES_PER_ZONE - 1 :: PATCHES_PER_ZONE]
    return [slice(first.start, last.stop) for first, last in zip(firsts, lasts, strict=True)]
