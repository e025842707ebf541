"""The trade's mode numbers, given by shape.

Common practice, no source: of a free violin plate mode 1 is the twist, its two node lines crossing near the middle; mode 2
bends across, the ends going against the sides; mode 3 has one line lengthwise and two across; mode 4 bends across in the
one bout against the other; mode 5 moves its middle against its whole rim, the node line a closed ring. The numbers count
the modes of one form of plate, so on other plates they need not follow the order of frequency, and a mode that looks like
none of them gets none.
"""

import numpy as np

from solver.arrays import Floats, Ints

_LEAST_SHARE = 0.3
_SURE_SHARE = 0.6
_LEAST_LEAD = 1.5
_LEAST_PRODUCT = 0.05

# Powers of the lengthwise and the crosswise coordinate, by the shape that they draw; "dish" is modes 2 and 5.
_TERMS = {
    "rigid": ((0, 0), (1, 0), (0, 1)),
    "twist": ((1, 1),),
    "dish": ((2, 0), (0, 2)),
    "long and two across": ((2, 1), (0, 3)),
    "bout against bout": ((3, 0), (1, 2)),
}


def called(name: str | None, place: int) -> str:
    """Return "mode 5" or, where the trade has no number, what place by pitch a tone has: "6th tone" for ``place`` 5."""
    return f"mode {name}" if name else f"{ordinal(place + 1)} tone"


def ordinal(number: int) -> str:
    """Return a number as it is said of a place: "1st", "6th"."""
    last = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{'th' if 10 <= number % 100 <= 20 else last}"


def mode_names(motion: Floats, nodes: Floats, triangles: Ints) -> tuple[str | None, ...]:
    """Return the number of each mode, or None where the shape is not clear.

    ``motion`` (k, n) is the normal motion at plan ``nodes`` (n, 2). Each shape is fitted by the terms up to the third power
    of the plate's own lengthwise and crosswise coordinate u and v, and goes to the number whose terms hold the largest
    share of it. Modes 2 and 5 are told by the signs of their ``u^2`` and ``v^2``: against each other in mode 2, alike in
    mode 5. Sound holes, a bar and asymmetry mix in other terms but leave these shares.
    """
    areas = node_areas(nodes, triangles)
    share, dish = _shares(motion, nodes, areas)
    product = dish[:, 0] * dish[:, 1] / np.maximum((dish**2).sum(axis=1), 1e-30)
    names: list[str | None] = [None] * len(motion)
    _give(names, "1", share["twist"])
    _give(names, "2", np.where(product < -_LEAST_PRODUCT, share["dish"], 0.0))
    _give(names, "5", np.where(product > _LEAST_PRODUCT, share["dish"], 0.0))
    _give(names, "3", share["long and two across"])
    _give(names, "4", share["bout against bout"])
    return tuple(names)


def _give(names: list[str | None], name: str, share: Floats) -> None:
    """Give ``name`` to the unnamed mode with the largest share, if that is large, or well ahead of the next.

    Two modes near each other in frequency, one of them the ring, mix where a bar lies to one side: then the one that
    has kept most of it is named, and neither where they share it evenly.
    """
    open_share = np.where([n is None for n in names], share, 0.0)
    best = int(open_share.argmax())
    rest = np.delete(open_share, best)
    leads = open_share[best] > max(_LEAST_SHARE, _LEAST_LEAD * rest.max(initial=0.0))
    if leads or open_share[best] > _SURE_SHARE:
        names[best] = name


def _shares(motion: Floats, nodes: Floats, areas: Floats) -> tuple[dict[str, Floats], Floats]:
    """Share (k,) of the mean square in each kind of term, and the coefficients (k, 2) of u^2 and v^2."""
    centred = nodes - areas @ nodes / areas.sum()
    u, v = (centred / np.sqrt(areas @ centred**2 / areas.sum())).T
    powers = [power for terms in _TERMS.values() for power in terms]
    kinds = np.array([kind for kind, terms in _TERMS.items() for _ in terms])
    root = np.sqrt(areas)[:, None]
    shapes = motion.T * root
    q, r = np.linalg.qr(np.column_stack([u**i * v**j for i, j in powers]) * root)
    parts = (q.T @ shapes) ** 2 / (shapes**2).sum(axis=0)
    quadratic = np.flatnonzero(kinds == "dish")
    upto = quadratic[-1] + 1
    coefficients = np.linalg.solve(r[:upto, :upto], q[:, :upto].T @ shapes)
    return {kind: parts[kinds == kind].sum(axis=0) for kind in _TERMS}, coefficients[quadratic].T


def node_areas(nodes: Floats, triangles: Ints) -> Floats:
    """Plan area (n,) [m2] that each node stands for."""
    a, b, c = (nodes[triangles[:, i]] for i in range(3))
    area = 0.5 * np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 3
    return np.asarray(
        np.bincount(triangles.ravel(), np.repeat(area, 3), minlength=len(nodes)), dtype=np.float64
    )
