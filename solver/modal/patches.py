"""The plate's points in patches that lie together, so that a stroke touches few of them.

Halved again and again across their longer side, the points fall into groups of zones of patches of about equal area. In
each patch a function of the place is replaced by its best straight line (least squares over the area). What that leaves
out of its integral with another function is the product of what the two lack to a straight line, so patches of a
centimetre serve a hollow of three.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from solver.core.arrays import Floats, Ints, freeze

PATCHES_PER_ZONE, ZONES_PER_GROUP = 4, 4
PATCHES_PER_GROUP = PATCHES_PER_ZONE * ZONES_PER_GROUP
MOST_PATCHES = 512
POINTS_PER_PATCH = 4
_FEWEST_POINTS = 3  # a line needs as many
_FEWEST_PATCHES = 2 * PATCHES_PER_GROUP


@dataclass(frozen=True, eq=False)
class Patches:
    """Points (p,) in the order of their n patches.

    ``order`` (p,) sorts a model's points into it; patch i begins at ``starts`` (n,)[i]. ``lines`` (2, p) are in each patch
    two linear functions, orthonormal over the points' plan ``areas`` (p,) [m2] and to a constant; ``slopes`` (n, 2, 2)
    their plan gradients, one line per row.
    """

    order: Ints
    starts: Ints
    areas: Floats
    lines: Floats
    slopes: Floats

    def __post_init__(self) -> None:
        p, n = len(self.order), len(self.starts)
        freeze(
            self,
            order=((p,), int),
            starts=((n,), int),
            areas=((p,), float),
            lines=((2, p), float),
            slopes=((n, 2, 2), float),
        )

    @cached_property
    def lengths(self) -> Ints:
        """Number of points (n,) in each patch."""
        return np.diff(self.starts, append=len(self.order))

    @cached_property
    def sizes(self) -> Floats:
        """Plan area (n,) [m2] of each patch."""
        return np.asarray(np.add.reduceat(self.areas, self.starts))

    @property
    def groups(self) -> int:
        """Number of groups."""
        return len(self.starts) // PATCHES_PER_GROUP

    @cached_property
    def group_starts(self) -> Ints:
        """First point (g,) of each group."""
        return self.starts[::PATCHES_PER_GROUP]

    def group(self, which: int) -> tuple[slice, list[slice]]:
        """Return the points of a group, and of each of its patches counted from the first of them."""
        patches = slice(which * PATCHES_PER_GROUP, (which + 1) * PATCHES_PER_GROUP)
        starts, lengths = self.starts[patches].tolist(), self.lengths[patches].tolist()
        first = starts[0]
        spans = [slice(a - first, a - first + length) for a, length in zip(starts, lengths, strict=True)]
        return slice(first, first + spans[-1].stop), spans


def make_patches(points: Floats, areas: Floats) -> Patches:
    """Return the patches of quadrature points (p, 2) [m] with plan areas (p,) [m2]: up to 512, 4 points in each or more.

    Raises
    ------
    ValueError
        If there are fewer than 128 points, which is a fault of the caller.
    """
    if len(points) < _FEWEST_PATCHES * POINTS_PER_PATCH:
        raise ValueError(f"{len(points)} points are too few for patches")
    wanted = min(MOST_PATCHES, 2 ** int(np.log2(len(points) / POINTS_PER_PATCH)))
    pieces = [np.arange(len(points))]
    while len(pieces) < wanted:
        fewest = _FEWEST_POINTS * wanted // (2 * len(pieces))
        pieces = [half for piece in pieces for half in _halves(points, areas, piece, fewest)]
    order = np.concatenate(pieces)
    starts = np.concatenate([[0], np.cumsum([len(piece) for piece in pieces])[:-1]])
    lines, slopes = _orthonormal_lines(points[order], areas[order], starts)
    return Patches(order, starts, areas[order], lines, slopes)


def _halves(points: Floats, areas: Floats, piece: Ints, fewest: int) -> tuple[Ints, Ints]:
    """Cut a piece across its longer side into two of equal area, each with the ``fewest`` points or more."""
    spread = np.ptp(points[piece], axis=0)
    piece = piece[np.argsort(points[piece, spread.argmax()], kind="stable")]
    share = np.cumsum(areas[piece])
    cut = int(np.clip(np.searchsorted(share, share[-1] / 2), fewest, len(piece) - fewest))
    return piece[:cut], piece[cut:]


def _orthonormal_lines(points: Floats, areas: Floats, starts: Ints) -> tuple[Floats, Floats]:
    """Two linear functions (2, p) per patch, orthonormal over ``areas`` and to a constant, and their gradients (n, 2, 2).

    With the patch's second moments ``S = L L^T`` about its centre c they are ``L^-1 (x - c)``.
    """
    lengths = np.diff([*starts, len(points)])
    sizes = np.add.reduceat(areas, starts)
    centres = np.add.reduceat(areas[:, None] * points, starts) / sizes[:, None]
    centred = points - np.repeat(centres, lengths, axis=0)
    spread = np.add.reduceat(areas[:, None, None] * centred[:, :, None] * centred[:, None], starts)
    slopes = np.linalg.inv(np.linalg.cholesky(spread))
    lines = np.einsum("pla,pa->lp", np.repeat(slopes, lengths, axis=0), centred)
    return lines, np.asarray(slopes, np.float64)
