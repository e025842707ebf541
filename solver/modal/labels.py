"""The trade's mode numbers, given by shape.

Common practice, no source: of a free violin plate mode 1 is the twist, its two node lines crossing near the middle; mode 2
bends across, the ends going against the sides; mode 3 has one line lengthwise and two across; mode 4 bends across in the
one bout against the other; mode 5 moves its middle against its whole rim, the node line a closed ring.

Each number stands for a pattern, the shape that the plate has without bar and sound holes (`mode_patterns`). A tone's
share of a pattern is the modal assurance criterion between the two, so that the shares of all tones in one pattern add up
to one or a little less. Where a bar or uneven wood has mixed two shapes, two tones share the pattern: the larger share
bears the number, and both are named with their shares.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment

from solver.core.arrays import Floats, Ints
from solver.plate.mode_label import NUMBERS, WISHED

NAMED_AMONG = 10
"""Tones among which the numbers are sought; what lies higher is none of these shapes, however many tones are computed."""

LEAST_SHARE = 0.3
"""Share of its pattern below which a tone is not called mode 3 or 4."""

TRACE = 0.1
"""The same for modes 1, 2 and 5, and the share from which a tone may have part in a pattern."""

PART = 0.5
"""A tone has part in a pattern from this much of the largest share in it."""


@dataclass(frozen=True)
class SharedPattern:
    """The tones that have part in one pattern: their ``places`` by falling ``shares`` of the whole pattern."""

    name: str
    places: tuple[int, ...]
    shares: tuple[float, ...]

    @property
    def is_mixed(self) -> bool:
        """Tell whether more than one tone has part."""
        return len(self.places) > 1

    @property
    def parts(self) -> tuple[float, ...]:
        """The shares as parts of what these tones have together."""
        return tuple(share / sum(self.shares) for share in self.shares)


def names_by(shares: Floats) -> tuple[str | None, ...]:
    """Return the number of each tone, or None, from its ``shares`` (k, 5) in the patterns of the `NUMBERS`.

    Every number goes to one tone, so that all of them together are as well placed as can be (`linear_sum_assignment`).
    """
    low = shares[:NAMED_AMONG]
    names: list[str | None] = [None] * len(shares)
    least = np.array([TRACE if name in WISHED else LEAST_SHARE for name in NUMBERS])
    for tone, number in zip(*linear_sum_assignment(low, maximize=True), strict=True):
        if low[tone, number] >= least[number]:
            names[tone] = NUMBERS[number]
    return tuple(names)


def carried_names(names: Sequence[str | None], places: Iterable[int], count: int) -> tuple[str | None, ...]:
    """Return the numbers of ``count`` tones of a changed plate, to whose ``places`` tones with ``names`` have gone over."""
    carried: list[str | None] = [None] * count
    for name, place in zip(names, places, strict=True):
        carried[place] = name
    return tuple(carried)


def shared_pattern(shares: Floats, name: str) -> SharedPattern:
    """Return which tones have part in the pattern of a number, from the ``shares`` (k, 5) of all; none where none has."""
    largest = float(shares[:NAMED_AMONG, NUMBERS.index(name)].max(initial=0.0))
    return _having(shares, name, max(PART * largest, TRACE))


def traced_pattern(shares: Floats, name: str) -> SharedPattern:
    """Return which tones show at least a trace of the pattern of a number: one of them a maker may call by it."""
    return _having(shares, name, TRACE)


def _having(shares: Floats, name: str, least: float) -> SharedPattern:
    column = shares[:NAMED_AMONG, NUMBERS.index(name)]
    having = np.flatnonzero(column >= least)
    places = having[np.argsort(-column[having], kind="stable")]
    return SharedPattern(name, tuple(places.tolist()), tuple(column[places].tolist()))


def mixed_patterns(names: Sequence[str | None], shares: Floats) -> tuple[SharedPattern, ...]:
    """Return the patterns that several tones share, of the numbers among ``names``."""
    found = (shared_pattern(shares, name) for name in NUMBERS if name in names)
    return tuple(pattern for pattern in found if pattern.is_mixed)


def node_areas(nodes: Floats, triangles: Ints) -> Floats:
    """Plan area (n,) [m2] that each node stands for."""
    a, b, c = (nodes[triangles[:, i]] for i in range(3))
    area = 0.5 * np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 3
    return np.asarray(
        np.bincount(triangles.ravel(), np.repeat(area, 3), minlength=len(nodes)), dtype=np.float64
    )
