"""Edges on a photo, sorted by their direction: what an outline is held against."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import distance_transform_edt, gaussian_filter, map_coordinates

from solver.core.arrays import Bools, Floats, Ints

DIRECTIONS = 8
"""Kinds of edges by the direction across them, each 22.5 degrees wide; neighbours count half in."""

_SOFT = 2.0
_KEPT = 0.035
"""Share of a photo's pixels that are kept as edges, the strongest."""

_FAINT = 0.1
"""Edges fainter than this share of the strong ones (all but the strongest hundredth) are left out."""

_FAR = 40.0


@dataclass(frozen=True, eq=False)
class EdgeDistances:
    """How far [pixels] each pixel lies from the nearest edge of each direction: (8, h, w), 40 at most."""

    distance: Floats

    def with_slope(self, pixels: Floats, across: Floats) -> tuple[Floats, Floats]:
        """Return the distance (n,) at ``pixels`` (n, 2) from edges square to ``across`` (n, 2), and its slope (n, 2).

        Off the photo it is 40.
        """
        kind = direction_of(across).astype(float)
        u, v = pixels.T
        columns, rows = np.stack([u, u - 0.5, u + 0.5, u, u]), np.stack([v, v, v, v - 0.5, v + 0.5])
        where = np.stack([np.broadcast_to(kind, rows.shape), rows, columns])
        here, left, right, above, below = map_coordinates(
            self.distance, where, order=1, mode="constant", cval=_FAR
        )
        return here, np.column_stack([right - left, below - above])


def direction_of(across: Floats) -> Ints:
    """Return the kind (n,) of edges across which ``across`` (n, 2) points."""
    turn = np.arctan2(across[:, 1], across[:, 0]) * DIRECTIONS / np.pi
    return np.asarray(np.rint(turn), np.int64) % DIRECTIONS


def edge_distances(photo: Floats) -> EdgeDistances:
    """Return the distances to the edges of a small photo (h, w, 3): where some colour changes most steeply."""
    soft = gaussian_filter(photo, (_SOFT, _SOFT, 0))
    down, right = np.gradient(soft, axis=(0, 1))
    steep = down**2 + right**2
    colour = steep.argmax(axis=2)[..., None]
    down, right = (np.take_along_axis(part, colour, axis=2)[..., 0] for part in (down, right))
    strength = np.hypot(down, right)
    edges = _crests(strength, down, right)
    edges &= strength >= _weakest(strength[edges], int(_KEPT * strength.size))
    turn = np.arctan2(down, right) * DIRECTIONS / np.pi
    return EdgeDistances(np.stack([_distance(edges & _near(turn, kind)) for kind in range(DIRECTIONS)]))


def _crests(strength: Floats, down: Floats, right: Floats) -> Bools:
    """Tell where the strength is greater than on either side across the edge."""
    size = np.maximum(strength, 1e-12)
    rows, columns = np.indices(strength.shape, dtype=float)
    sides = [
        map_coordinates(
            strength, [rows + s * down / size, columns + s * right / size], order=1, mode="nearest"
        )
        for s in (1.0, -1.0)
    ]
    return np.asarray((strength > sides[0]) & (strength >= sides[1]) & (strength > 1e-3))


def _weakest(strengths: Floats, count: int) -> float:
    """Return how strong an edge must be to be one of the ``count`` strongest, and not faint beside them."""
    if len(strengths) == 0:
        return 0.0
    strong = np.sort(strengths)
    return float(max(strong[-min(count, len(strong))], _FAINT * np.quantile(strong, 0.99)))


def _near(turn: Floats, kind: int) -> Bools:
    off = np.abs((turn - kind + DIRECTIONS / 2) % DIRECTIONS - DIRECTIONS / 2)
    return np.asarray(off <= 1.0)


def _distance(edges: Bools) -> Floats:
    if not edges.any():
        return np.full(edges.shape, _FAR)
    return np.asarray(np.minimum(distance_transform_edt(~edges), _FAR))
