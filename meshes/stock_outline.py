"""Outlines and sound holes drawn by us from usual overall dimensions (common practice, no source).

They follow no maker's pattern and no instrument. One violin-like half outline is stretched to the length and width asked
for.
"""

import numpy as np
import shapely

from meshes.edge import Edge, edge_through
from meshes.outline import Outline, make_outline
from solver.arrays import Floats

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

# A sound hole [mm] on the bass side: a stem between two drilled eyes.
_STEM = [(188.0, 26.0), (179.0, 31.5), (168.0, 36.0), (156.0, 40.0), (144.0, 45.0), (134.0, 50.5)]
_STEM_WIDTH = 5.5
_UPPER_EYE, _LOWER_EYE = ((187.5, 25.0), 6.35), ((135.5, 52.5), 7.94)


def stock_outline(length: float, width: float) -> Outline:
    """Return the outline of a violin-family plate without holes: x from the tail end [m], four sharp corners."""
    side = np.array(_LOWER_BOUT[:-1] + _WAIST[:-1] + _UPPER_BOUT)
    corners = np.array([len(_LOWER_BOUT) - 1, len(_LOWER_BOUT) + len(_WAIST) - 2])
    treble = side[1:-1][::-1] * [1.0, -1.0]
    points = np.vstack([side, treble]) * _scale(length, width)
    mirrored = len(side) + len(treble) - corners
    return make_outline(edge_through(points, "outline", np.concatenate([corners, mirrored])))


def stock_holes(length: float, width: float) -> tuple[Edge, Edge]:
    """Return the two sound holes for that outline, named bass and treble; the eyes grow with the plate."""
    eyes = [
        shapely.Point(centre).buffer(diameter / 2, quad_segs=24)
        for centre, diameter in (_UPPER_EYE, _LOWER_EYE)
    ]
    stem = shapely.LineString(_smooth(np.array(_STEM))).buffer(_STEM_WIDTH / 2, quad_segs=24)
    # closing and opening by a small radius takes the sharp inner corners out, as a knife does
    rounded = shapely.union_all([*eyes, stem]).buffer(1.5).buffer(-3.0).buffer(1.5)
    ring = shapely.get_coordinates(rounded.exterior)[:-1]
    bass = _evenly(ring, 1.6) * _scale(length, width)
    return edge_through(bass, "bass"), edge_through(bass * [1.0, -1.0], "treble")


def _scale(length: float, width: float) -> Floats:
    return np.array([length / _LENGTH, width / _WIDTH])


def _smooth(points: Floats) -> Floats:
    from scipy.interpolate import CubicSpline

    return np.asarray(CubicSpline(np.linspace(0, 1, len(points)), points)(np.linspace(0, 1, 60)))


def _evenly(ring: Floats, step: float) -> Floats:
    """Points about ``step`` apart along a closed ring."""
    closed = np.vstack([ring, ring[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    marks = np.linspace(0.0, along[-1], int(along[-1] / step), endpoint=False)
    return np.column_stack([np.interp(marks, along, closed[:, k]) for k in range(2)])
