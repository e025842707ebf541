"""The wood's stiffness across a section of the plate.

Wood is carved, not bent: its axes stay fixed in space, so at every point the compliance is turned into the local
frame (t1, t2, t3). With no stress across the plate (33), bending is stiffened by the inverse of the in-plane 3 x 3 block
and stretch together with transverse shear by the inverse of the coupled 5 x 5 block, its shear part enlarged by 6/5, the
compliance of a parabolic shear stress (E. Reissner, J. Appl. Mech. 12 (1945) A69).

A bar is narrow and often tall, and its sides are free, so it is not a thick place of the plate. Of its stress resultants

- tension and shear along it and bending along it act in its whole height,
- twisting acts in its whole height, less the taller it is for its width: ``1 / (1 + BAR_TWIST (height/width)^2)``,
- shear in the plane of the plate reaches from the glue line to a depth of ``SHEAR_REACH`` widths,
- stress across the bar only to ``ACROSS_REACH`` widths, because wood is so soft in rolling shear.

The last two are parts of their own, the root of the bar; a bar lower than that is a thick place of the plate indeed. The
three figures were found against 3-D solids of spruce plates with bars 1 to 12 mm high and 5.5 mm wide.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum, auto
from functools import cache

import numpy as np

from solver.core.arrays import Floats
from solver.plate.wood import Wood

SHEAR_COMPLIANCE = 6 / 5
BAR_TWIST = 0.25
SHEAR_REACH = 0.7
ACROSS_REACH = 0.05

_VOIGT = ((0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1))
_11, _22, _23, _13, _12 = 0, 1, 3, 4, 5
_IN_PLANE = (_11, _22, _12)
_COUPLED = (_11, _22, _12, _23, _13)


class Part(Enum):
    """What a layer is to the section: the plate, the bar, or what its root adds."""

    PLATE = auto()
    BAR = auto()
    ROOT_ACROSS = auto()
    ROOT_IN_SHEAR = auto()


@dataclass(frozen=True, eq=False)
class Stiffness:
    """Stiffness of the wood at p points, per unit thickness.

    ``stretch`` (p, 5, 5) [Pa] acts on 11, 22, 2*12, 2*23, 2*13; ``bend`` (p, 3, 3) [Pa] on 11, 22, 2*12.
    """

    stretch: Floats
    bend: Floats


def turned_compliance(wood: Wood, frame: Floats) -> Floats:
    """Return the compliance (p, 6, 6) [1/Pa] along the frames (p, 3, 3), engineering shear, order 11 22 33 23 13 12."""
    return _turned(wood.compliance(), _bond(wood, frame))


def part_stiffness(part: Part, wood: Wood, frame: Floats, slenderness: Floats) -> Stiffness:
    """Return the stiffness of a part along frames (p, 3, 3) whose t1 runs along the bar.

    ``slenderness`` (p,) is the height of the bar over its width; the plate does not ask for it.
    """
    s = turned_compliance(wood, frame)
    return _composed(part, slenderness, lambda stretch, bend: _stiffness(s, stretch, bend))


def part_stiffness_changes(
    part: Part, wood: Wood, frame: Floats, slenderness: Floats, changes: Floats
) -> Iterator[Stiffness]:
    """Yield what each of the small ``changes`` (c, 6, 6) [1/Pa] of the wood's compliance in L, R, T does to a part.

    The inverse of a block changes by ``d(S^-1) = -S^-1 dS S^-1``; arguments else as of `part_stiffness`.
    """
    bond = _bond(wood, frame)
    s = _turned(wood.compliance(), bond)
    unchanged = cache(lambda stretch, bend: _stiffness(s, stretch, bend))
    for change in changes:
        ds = _turned(change, bond)

        def changed(stretch: Sequence[int], bend: Sequence[int], ds: Floats = ds) -> Stiffness:
            here, soft = unchanged(tuple(stretch), tuple(bend)), _softened(ds)
            return Stiffness(
                -here.stretch @ _block(soft, _COUPLED) @ here.stretch,
                -here.bend @ _block(ds, _IN_PLANE) @ here.bend,
            )

        yield _composed(part, slenderness, changed)


def _composed(
    part: Part, slenderness: Floats, of: Callable[[Sequence[int], Sequence[int]], Stiffness]
) -> Stiffness:
    """Put a part together from stiffnesses ``of`` the named stresses alone, in which it is linear."""
    match part:
        case Part.PLATE:
            return of(_COUPLED, _IN_PLANE)
        case Part.BAR:
            along = of([_11, _13], [_11, _12])
            scale = np.ones((len(slenderness), 3))
            scale[:, 2] = (1 + BAR_TWIST * slenderness**2) ** -0.5
            return Stiffness(along.stretch, along.bend * scale[:, :, None] * scale[:, None, :])
        case Part.ROOT_ACROSS:
            along, wide = of([_11, _13], [_11, _12]), of([_11, _22, _23, _13], _IN_PLANE)
            return Stiffness(wide.stretch - along.stretch, wide.bend - along.bend)
        case Part.ROOT_IN_SHEAR:
            return of([_12], [])


def _bond(wood: Wood, frame: Floats) -> Floats:
    """Return the matrices (p, 6, 6) that turn strains of the wood's axes into the frames.

    With ``q = frame . axes^T`` strains turn by the Bond matrix (W. L. Bond, Bell Syst. Tech. J. 22 (1943) 1).
    """
    q = frame @ wood.axes().T
    bond = np.empty((len(q), 6, 6))
    for r, (a, b) in enumerate(_VOIGT):
        for c, (i, j) in enumerate(_VOIGT):
            both = q[:, a, i] * q[:, b, j] + (q[:, a, j] * q[:, b, i] if i != j else 0.0)
            # engineering strains: rows of shear double, columns of shear halve
            bond[:, r, c] = both * (2.0 if a != b else 1.0) * (0.5 if i != j else 1.0)
    return bond


def _turned(compliance: Floats, bond: Floats) -> Floats:
    return np.asarray(bond @ compliance @ np.swapaxes(bond, 1, 2))


def _softened(compliance: Floats) -> Floats:
    softened = compliance.copy()
    softened[:, 3:5, 3:5] *= SHEAR_COMPLIANCE
    return softened


def _block(compliance: Floats, order: Sequence[int]) -> Floats:
    return compliance[:, list(order)][:, :, list(order)]


def _stiffness(compliance: Floats, stretch: Sequence[int], bend: Sequence[int]) -> Stiffness:
    """Stiffness of (p, 6, 6) with only the named stresses different from zero."""
    return Stiffness(
        _inverse(_softened(compliance), stretch, _COUPLED), _inverse(compliance, bend, _IN_PLANE)
    )


def _inverse(compliance: Floats, kept: Sequence[int], order: Sequence[int]) -> Floats:
    """Invert the block of the ``kept`` stresses and set it into a matrix that runs in the given order."""
    out = np.zeros((len(compliance), len(order), len(order)))
    at = np.array([order.index(k) for k in kept], dtype=int)
    out[:, at[:, None], at] = np.linalg.inv(_block(compliance, kept))
    return out
