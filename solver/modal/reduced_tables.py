"""What each part of the plate adds to the reduced matrices, tabulated against the share of the thickness taken from it.

The share s, its square and its cube each stand for a term of the section's cubic. By patches s is a straight line, whose
slope also tilts the middle surface, and its powers are constant; by zones s and its square are constant, and the cube is
made of the two. Products with the lowest modes count to first order and are tabulated by patches; those of the other
shapes among themselves count to second order, and zones do.
"""

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from solver.core.arrays import Bools, Floats, Ints, Singles, seal
from solver.modal.patches import PATCHES_PER_ZONE, Patches
from solver.modal.section_cubic import DEGREE

POWERS = 2
"""Powers of the share that the inertia and, by zones, the stiffness are tabulated for."""

LINES = 2


@dataclass(frozen=True, eq=False)
class Products:
    """One removal's change of the reduced matrices, by the four kinds of products that `ReducedTables` holds."""

    fine: Singles
    heavy: Singles
    crossing: Singles
    coarse: Singles


@dataclass(frozen=True, eq=False)
class ReducedTables:
    """Changes of the reduced matrices per term of a removal, in g groups of the plate's ``patches``.

    For m modes, r responses and f lowest modes that are tabulated by patches: ``fine`` (g, 80, f (m + r)) is the stiffness
    between the lowest modes and every shape, ``coarse`` (g, 8, c (c + 1) / 2) that between the other c = m + r - f shapes,
    lower triangle, ``heavy`` (g, 64, (6 + m) (7 + m) / 2) the inertia between rigid motions and modes, lower triangle,
    ``crossing`` (g, 32, f r) that between the lowest modes and the responses, for the powers alone. ``thickness`` (p,) [m]
    as built stands in the order of the patches.
    """

    patches: Patches
    thickness: Floats
    fine: Singles
    heavy: Singles
    crossing: Singles
    coarse: Singles

    def __post_init__(self) -> None:
        tables = dict.fromkeys(("fine", "heavy", "crossing", "coarse"), ((None, None, None), np.float32))
        seal(self, thickness=((None,), np.float64), **tables)

    @property
    def kinds(self) -> tuple[Singles, Singles, Singles, Singles]:
        """The four tables."""
        return self.fine, self.heavy, self.crossing, self.coarse

    def groups_with(self, points: Bools) -> Ints:
        """Return the groups that hold some of the ``points`` (p,)."""
        return np.flatnonzero(np.logical_or.reduceat(points, self.patches.group_starts))

    def changes(self, removal: Floats, groups: Ints) -> list[Singles]:
        """Return what each of the ``groups`` adds to all products by a removal (p,) [m], from its own points alone."""
        terms, spans = self._terms(removal, groups), list(pairwise(self._ends))
        changes = []
        for k, group in enumerate(groups):
            change = np.empty(self._ends[-1], np.float32)
            for of, table, (start, end) in zip(terms, self.kinds, spans, strict=True):
                np.dot(of[k], table[group], out=change[start:end])
            changes.append(change)
        return changes

    def parted(self, change: Singles) -> Products:
        """Return a change, or a sum of such, by its kinds."""
        return Products(*np.split(change, self._ends[1:-1]))

    @cached_property
    def _ends(self) -> list[int]:
        """Where the kinds begin and end in a change."""
        return [0, *np.cumsum([table.shape[2] for table in self.kinds]).tolist()]

    def _terms(self, removal: Floats, groups: Ints) -> tuple[Singles, Singles, Singles, Singles]:
        """Terms of the four kinds (k, 80), (k, 64), (k, 32), (k, 8) in the groups (k,)."""
        points, starts, sizes = self._inside(groups)
        share = removal[points] / self.thickness[points]
        areas, lines = self.patches.areas[points], self.patches.lines[:, points]
        functions = np.stack([share, share**2, share**3, *(share * lines)])
        integrals = np.add.reduceat(functions * areas, starts, axis=1)
        means = integrals[:DEGREE] / sizes
        zones = integrals[:POWERS].reshape(POWERS, -1, PATCHES_PER_ZONE).sum(axis=2)
        zones /= sizes.reshape(-1, PATCHES_PER_ZONE).sum(axis=1)
        kinds = (
            np.concatenate([means, integrals[DEGREE:]]),
            np.concatenate([means[:POWERS], integrals[DEGREE:]]),
            means[:POWERS],
            zones,
        )
        fine, heavy, crossing, coarse = (_by_group(rows, len(groups)) for rows in kinds)
        return fine, heavy, crossing, coarse

    def _inside(self, groups: Ints) -> tuple[Ints, Ints, Floats]:
        """Points (q,) of the groups, where in these each patch starts (n,), and the patches' areas (n,) [m2]."""
        patches = self.patches
        chosen = np.zeros(patches.groups, bool)
        chosen[groups] = True
        chosen = np.repeat(chosen, len(patches.starts) // patches.groups)
        lengths = patches.lengths[chosen]
        return (
            np.flatnonzero(np.repeat(chosen, patches.lengths)),
            np.cumsum(lengths) - lengths,
            patches.sizes[chosen],
        )


def _by_group(rows: Floats, groups: int) -> Singles:
    """Rows (f, n) of patches or zones as (g, f n / g)."""
    return np.swapaxes(rows.reshape(len(rows), groups, -1), 0, 1).reshape(groups, -1).astype(np.float32)
