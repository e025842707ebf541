"""What each part of the plate adds to the reduced matrices, tabulated against the share of the thickness taken from it.

The share s, its square and its cube each stand for a term of the section's cubic. By patches s is a straight line, whose
slope also tilts the middle surface, and its powers are constant; by zones all three are constant. Products with the lowest
modes count to first order and are tabulated by patches; those of the other shapes among themselves count to second order,
and zones do.
"""

from dataclasses import dataclass

import numpy as np

from solver.arrays import Floats, Ints, Singles, freeze
from solver.modal.assembly import ModalModel
from solver.modal.jets import field_jets
from solver.modal.patches import PATCHES_PER_ZONE, Patches
from solver.modal.reduced_basis import ANSWERED, ReducedBasis
from solver.modal.reduced_section import ReducedSection
from solver.modal.section_cubic import DEGREE
from solver.modal.side_by_side import side_by_side
from solver.modal.strains import FIELDS

FINE = ANSWERED + 4
"""Lowest modes whose products with every shape are tabulated by patches."""

_HEAVY_POWERS = 2


@dataclass(frozen=True, eq=False)
class Terms:
    """The terms of one removal in g groups: by patches ``fine`` (g, 80), ``heavy`` (g, 64); by zones ``coarse`` (g, 12)."""

    fine: Singles
    heavy: Singles
    coarse: Singles

    def __post_init__(self) -> None:
        shape, kind = (None, None), np.float32
        freeze(self, fine=(shape, kind), heavy=(shape, kind), coarse=(shape, kind))

    def differing(self, other: "Terms") -> Ints:
        """Return the groups in which two removals differ."""
        return np.flatnonzero(
            (self.fine != other.fine).any(axis=1) | (self.coarse != other.coarse).any(axis=1)
        )


@dataclass(frozen=True, eq=False)
class ReducedTables:
    """Changes of the reduced matrices per term, for m modes and r responses.

    ``fine`` (g, 80, 12 (m + r)) is the stiffness between the lowest modes and every shape, ``coarse``
    (g, 12, c (c + 1) / 2) that between the other c = m + r - 12 shapes, lower triangle, ``heavy``
    (g, 64, (6 + m) (7 + m) / 2) the inertia between rigid motions and modes, lower triangle, ``crossing`` (g, 32, 12 r)
    that between the lowest modes and the responses, for the powers alone. ``thickness`` (p,) [m] as built stands in the
    order of the ``patches``.
    """

    patches: Patches
    thickness: Floats
    fine: Singles
    heavy: Singles
    crossing: Singles
    coarse: Singles

    def __post_init__(self) -> None:
        tables = dict.fromkeys(("fine", "heavy", "crossing", "coarse"), ((None, None, None), np.float32))
        freeze(self, thickness=((None,), float), **tables)

    def changes(self, terms: Terms, group: int) -> tuple[Singles, Singles, Singles, Singles]:
        """Return what a group adds to the four kinds of products by the ``terms`` of a removal."""
        heavy, crossing = terms.heavy[group], self.crossing[group]
        return (
            terms.fine[group] @ self.fine[group],
            heavy @ self.heavy[group],
            heavy[: len(crossing)] @ crossing,
            terms.coarse[group] @ self.coarse[group],
        )

    def terms(self, removal: Floats) -> Terms:
        """Return the terms of a removal (p,) [m] in the order of the patches; those of a group know only its own points."""
        share = removal / self.thickness
        powers = np.stack([share, share**2, share**3])
        integrals = self.patches.integrals(np.concatenate([powers, share * self.patches.lines]))
        sizes = self.patches.sizes
        means = integrals[:DEGREE] / sizes
        zones = integrals[:DEGREE].reshape(DEGREE, -1, PATCHES_PER_ZONE).sum(axis=2)
        zones /= sizes.reshape(-1, PATCHES_PER_ZONE).sum(axis=1)
        return Terms(
            self._by_group(np.concatenate([means, integrals[DEGREE:]])),
            self._by_group(np.concatenate([means[:_HEAVY_POWERS], integrals[DEGREE:]])),
            self._by_group(zones),
        )

    def _by_group(self, rows: Floats) -> Singles:
        """Rows (f, n) of patches or zones as (g, f n / g)."""
        groups = len(self.fine)
        return np.swapaxes(rows.reshape(len(rows), groups, -1), 0, 1).reshape(groups, -1).astype(np.float32)


def reduced_tables(model: ModalModel, section: ReducedSection, basis: ReducedBasis) -> ReducedTables:
    """Tabulate a plate's reduced matrices against what is taken from it."""
    patches, tilting, order = section.patches, section.tilting, section.patches.order
    jets = field_jets(model.cubic, section.wood.elements, basis.shapes)
    stiffness, inertia = section.cubic.stiffness, section.cubic.inertia[:_HEAVY_POWERS]

    def group(spans: list[slice]) -> tuple[Singles, Singles, Singles, Singles]:
        all_ = slice(spans[0].start, spans[-1].stop)
        spans = [slice(span.start - all_.start, span.stop - all_.start) for span in spans]
        here, lines = order[all_], patches.lines[:, all_]
        moved = jets[here]
        moving = np.ascontiguousarray(moved[:, :, 6:])
        pushed = stiffness[:, here] @ moving
        known, responses = np.split(moved[:, :FIELDS], [6 + basis.modes], axis=2)
        carried = inertia[:, here] @ known
        return (
            _fine(moving, pushed, lines, tilting[:, all_], spans),
            _heavy(known, carried, lines, spans),
            _crossing(carried[..., 6 : 6 + FINE], responses, spans),
            _triangles(pushed[..., FINE:], moving[..., FINE:], _zones(spans)),
        )

    groups = side_by_side(group, patches.grouped)
    tables = (np.stack(part) for part in zip(*groups, strict=True))
    return ReducedTables(patches, section.wood.thickness[order], *tables)


def _fine(moving: Singles, pushed: Singles, lines: Floats, tilting: Singles, spans: list[slice]) -> Singles:
    """Products of the lowest modes with every shape: per patch the three powers' mean, then the two lines of the share."""
    sloped = (
        lines[:, :, None, None].astype(np.float32) * pushed[0, :, :, :FINE] + tilting @ moving[..., :FINE]
    )
    left = np.concatenate([pushed[..., :FINE], sloped])
    each = [_columns(rows[span]).T @ _columns(moving[span]) for rows in left for span in spans]
    return np.stack(each).reshape(len(each), -1)


def _heavy(known: Singles, carried: Singles, lines: Floats, spans: list[slice]) -> Singles:
    """Inertia between rigid motions and modes: per patch the first two powers' mean, then the two lines of the share."""
    lined = lines[:, :, None, None].astype(np.float32) * carried[0]
    return _triangles(np.concatenate([carried, lined]), known, spans)


def _crossing(carried: Singles, responses: Singles, spans: list[slice]) -> Singles:
    """Inertia between the lowest modes and the responses: per patch the first two powers' mean."""
    each = [_columns(rows[span]).T @ _columns(responses[span]) for rows in carried for span in spans]
    return np.stack(each).reshape(len(each), -1)


def _triangles(left: Singles, right: Singles, spans: list[slice]) -> Singles:
    """Lower triangles (f s, c (c + 1) / 2) of ``left_f^T right`` over each of s spans of points, for each of f."""
    below = np.flatnonzero(np.tri(right.shape[2]))
    return np.stack(
        [
            _lower(_columns(rows[span]), _columns(right[span])).ravel()[below]
            for rows in left
            for span in spans
        ]
    )


def _lower(left: Singles, right: Singles) -> Singles:
    """The product ``left^T right`` (c, c) of columns, of which a quarter over the diagonal is left out, as nought."""
    c = left.shape[1]
    product = np.zeros((c, c), np.float32)
    product[: c // 2, : c // 2] = left[:, : c // 2].T @ right[:, : c // 2]
    product[c // 2 :] = left[:, c // 2 :].T @ right
    return product


def _columns(shapes: Singles) -> Singles:
    """Shapes (p, a, c) as columns (p a, c)."""
    return shapes.reshape(-1, shapes.shape[2])


def _zones(spans: list[slice]) -> list[slice]:
    firsts, lasts = spans[::PATCHES_PER_ZONE], spans[PATCHES_PER_ZONE - 1 :: PATCHES_PER_ZONE]
    return [slice(first.start, last.stop) for first, last in zip(firsts, lasts, strict=True)]
