"""The trade's mode numbers, given by shape.

Common practice, no source: of a free violin plate mode 1 is the twist, its two node lines crossing near the middle; mode 2
bends across with the ends going against the sides; mode 5 moves its middle against its whole rim, the node line a closed
ring. The numbers count the modes of one well-known form of plate, so on other plates they need not follow the order of
frequency, and a mode that looks like none of them gets none.
"""

import numpy as np

from solver.arrays import Floats, Ints

_LEAST_SHARE = 0.4
_LEAST_SIDE = 0.05


def mode_names(motion: Floats, nodes: Floats, triangles: Ints) -> tuple[str | None, ...]:
    """Return the number of each mode, or None where the shape is not clear.

    ``motion`` (k, n) is the normal motion at plan ``nodes`` (n, 2). Each shape is fitted by the six quadratic terms in
    the plate's own lengthwise and crosswise coordinate. The twist is the shape with the largest share of ``u v``; the
    others are told by the signs of the ``u^2`` and ``v^2`` terms: against each other in mode 2, alike in mode 5. Sound
    holes, a bar and asymmetry mix in other terms but leave these shares.
    """
    areas = node_areas(nodes, triangles)
    share, sides = _quadratic_shares(motion, nodes, areas)
    names: list[str | None] = [None] * len(motion)
    _give(names, "1", share[:, 0])
    product = sides[:, 0] * sides[:, 1] / np.maximum((sides**2).sum(axis=1), 1e-30)
    _give(names, "2", np.where(product < -_LEAST_SIDE, share[:, 1], 0.0))
    _give(names, "5", np.where(product > _LEAST_SIDE, share[:, 1], 0.0))
    return tuple(names)


def _give(names: list[str | None], name: str, share: Floats) -> None:
    """Give ``name`` to the unnamed mode with the largest share, if that is large enough."""
    open_share = np.where([n is None for n in names], share, 0.0)
    best = int(open_share.argmax())
    if open_share[best] > _LEAST_SHARE:
        names[best] = name


def _quadratic_shares(motion: Floats, nodes: Floats, areas: Floats) -> tuple[Floats, Floats]:
    """Shares (k, 2) of the mean square that lie in u v and in u^2, v^2 together, and the terms' coefficients (k, 2)."""
    centred = nodes - areas @ nodes / areas.sum()
    u, v = (centred / np.sqrt(areas @ centred**2 / areas.sum())).T
    terms = np.stack([np.ones_like(u), u, v, u * v, u * u, v * v], axis=1)
    root = np.sqrt(areas)[:, None]
    weighed, shapes = terms * root, motion.T * root
    coefficients = np.linalg.lstsq(weighed, shapes, rcond=None)[0]
    q = np.linalg.qr(weighed)[0]
    parts = (q.T @ shapes) ** 2 / (shapes**2).sum(axis=0)
    return np.stack([parts[3], parts[4] + parts[5]], axis=1), coefficients[4:].T


def node_areas(nodes: Floats, triangles: Ints) -> Floats:
    """Plan area (n,) [m2] that each node stands for."""
    a, b, c = (nodes[triangles[:, i]] for i in range(3))
    area = 0.5 * np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 3
    return np.asarray(
        np.bincount(triangles.ravel(), np.repeat(area, 3), minlength=len(nodes)), dtype=np.float64
    )
