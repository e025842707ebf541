"""Which tone of a plate its maker calls 1, 2 and 5: the one whose powder looks most like the trade's pattern.

The patterns are those of the same plate of straight wood without holes and bar, where they are plain; there the three are
told by the signs of their curvature. So nothing here depends on the names that the program gives.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from meshes.cells import Cells
from solver.advice.mode_tracking import likeness, weighed_shapes
from solver.core.arrays import Floats, freeze
from solver.modal.modes import Modes, solve_modes
from solver.plate.mass import survey_cells
from solver.plate.parts import without
from solver.plate.plate import Plate

NUMBERS = ("1", "2", "5")
LOOKED_AT = 8
"""Tones among which a maker looks for a pattern."""
PLAINLY_MORE = 1.25
"""A maker keeps a number where it was, followed by shape, unless another tone shows so much more of the pattern."""


@dataclass(frozen=True, eq=False)
class Patterns:
    """The patterns (3, 3 n) of modes 1, 2 and 5 at ``cells``."""

    shapes: Floats
    cells: Cells

    def __post_init__(self) -> None:
        freeze(self, shapes=((len(NUMBERS), None), float))

    def shares(self, modes: Modes) -> Floats:
        """Return how much (3, k) of each pattern every tone shows."""
        return likeness(self.shapes, weighed_shapes(modes, self.cells))


def patterns_of(plate: Plate) -> Patterns:
    """Return the patterns as a plate of this form shows them where nothing is askew."""
    straight = replace(plate.wood, grain=0.0, ring=0.0)
    plain = without(replace(plate, wood=straight), ("holes", "bar"))
    modes = solve_modes(plain, LOOKED_AT)
    cells = survey_cells(plate.outline)
    places = [int(np.argmax(share)) for share in _plain_shares(modes)]
    return Patterns(weighed_shapes(modes, cells)[places], cells)


def _plain_shares(modes: Modes) -> tuple[Floats, Floats, Floats]:
    """Shares (k,) of twist, saddle and dish in the normal motion about the plate's middle, rigid motions apart."""
    x, y = (modes.points[:, :2] - modes.points[:, :2].mean(axis=0)).T
    u, v = x / np.abs(x).max(), y / np.abs(y).max()
    terms = np.column_stack([np.ones(len(u)), u, v, u * v, u**2, v**2])
    motion = modes.normal_motion.T
    found, *_ = np.linalg.lstsq(terms, motion, rcond=None)
    whole = np.var(motion, axis=0)
    twist = found[3] ** 2 * np.var(u * v) / whole
    dished = np.var(terms[:, 4:] @ found[4:], axis=0) / whole
    alike = found[4] * found[5] > 0
    return twist, np.where(alike, 0.0, dished), np.where(alike, dished, 0.0)


@dataclass(frozen=True, eq=False)
class Seen:
    """The ``places`` (3,) of the tones that a maker calls 1, 2 and 5, and how much of the pattern each shows.

    ``next_best`` is how much the next tone shows of it; ``moved`` are the numbers that went to another tone.
    """

    modes: Modes
    places: Mapping[str, int]
    shares: Mapping[str, float]
    next_best: Mapping[str, float]
    moved: tuple[str, ...] = ()

    def hz(self, number: str) -> float:
        """Return the tone [Hz] called by this number."""
        return float(self.modes.hz[self.places[number]])


def seen_numbers(patterns: Patterns, modes: Modes, before: Seen | None = None) -> Seen:
    """Return what a maker numbers, who knew the plate ``before`` and keeps to that unless the powder plainly moved on."""
    shares = patterns.shares(modes)[:, :LOOKED_AT]
    places: dict[str, int] = {}
    moved = []
    for row, number in enumerate(NUMBERS):
        open_to = np.where(np.isin(np.arange(shares.shape[1]), list(places.values())), 0.0, shares[row])
        best = int(open_to.argmax())
        if before is not None:
            kept = _followed(patterns, before, modes, before.places[number])
            if kept not in places.values() and open_to[best] < PLAINLY_MORE * open_to[kept]:
                best = kept
            elif kept != best:
                moved.append(number)
        places[number] = best
    own = {number: float(shares[row, places[number]]) for row, number in enumerate(NUMBERS)}
    rest = {number: float(np.delete(shares[row], places[number]).max()) for row, number in enumerate(NUMBERS)}
    return Seen(modes, places, own, rest, tuple(moved))


def _followed(patterns: Patterns, before: Seen, modes: Modes, place: int) -> int:
    """Return the tone that a tone before has become, by its shape."""
    old, new = (weighed_shapes(m, patterns.cells) for m in (before.modes, modes))
    return int(likeness(old[place : place + 1], new[:LOOKED_AT])[0].argmax())
