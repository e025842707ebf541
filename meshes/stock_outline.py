"""Outlines drawn by us from usual overall dimensions (common practice, no source).

They follow no maker's pattern and no instrument. One violin-like half outline is stretched to the length and width asked
for.
"""

import numpy as np

from meshes.edge import edge_through
from meshes.outline import Outline, make_outline

_LENGTH, _WIDTH = 355.0, 206.0

# Three runs of the bass side [mm] from the tail end to the neck end; they meet at the two corners.
_LOWER_BOUT = [
    (0.0, 0.0), (1.6, 24.0), (8.0, 55.0), (20.0, 79.0), (40.0, 96.5), (64.0, 103.0), (88.0, 100.5),
    (108.0, 94.0), (122.0, 89.2), (131.0, 89.3), (139.0, 92.5),
]  # fmt: skip
_WAIST = [
    (139.0, 92.5), (144.0, 82.0), (153.0, 68.5), (167.0, 59.0), (184.0, 55.0), (200.0, 56.6),
    (212.0, 62.5), (220.0, 70.0), (225.0, 77.5),
]  # fmt: skip
_UPPER_BOUT = [
    (225.0, 77.5), (232.0, 74.3), (240.0, 73.6), (254.0, 76.4), (274.0, 81.6), (294.0, 83.5),
    (314.0, 79.5), (331.0, 69.0), (344.0, 51.0), (351.5, 30.0), (355.0, 0.0),
]  # fmt: skip


def stock_outline(length: float, width: float) -> Outline:
    """Return the outline of a violin-family plate without holes: x from the tail end [m], four sharp corners."""
    side = np.array(_LOWER_BOUT[:-1] + _WAIST[:-1] + _UPPER_BOUT)
    corners = np.array([len(_LOWER_BOUT) - 1, len(_LOWER_BOUT) + len(_WAIST) - 2])
    treble = side[1:-1][::-1] * [1.0, -1.0]
    points = np.vstack([side, treble]) * [length / _LENGTH, width / _WIDTH]
    mirrored = len(side) + len(treble) - corners
    return make_outline(edge_through(points, "outline", np.concatenate([corners, mirrored])))
