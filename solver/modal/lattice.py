"""Small overlapping hollows on a lattice over the plate: what a stroke is drawn with, as far as they can draw it."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.spatial import cKDTree

from meshes.outline import Outline
from meshes.removal import Hollow
from solver.core.arrays import Floats

STEP = 0.034
"""Distance of the small hollows [m] on a plate of a violin's size; larger plates take it in proportion."""

OVERLAP = 1.3
"""Radius of each over the distance to the next."""

_USUAL_AREA = 0.055


@dataclass(frozen=True, eq=False)
class Lattice:
    """Small hollows at p points of a plate: ``hollows`` (h, p), 1 deep in their middle, and how much of the volume of each
    lies on the plate, ``whole`` (h,), as a share.
    """

    hollows: sp.csr_array
    whole: Floats


def lattice(outline: Outline, points: Floats, areas: Floats) -> Lattice:
    """Return the lattice's hollows at points (p, 2) [m] with plan ``areas`` (p,) [m2]."""
    small = list(lattice_hollows(outline, points))
    depths = sp.csr_array(np.stack([hollow.at(points) for hollow in small]))
    return Lattice(depths, np.asarray(depths @ areas) / np.array([hollow.volume for hollow in small]))


def lattice_hollows(outline: Outline, points: Floats) -> Iterator[Hollow]:
    """Yield small hollows, 1 deep in their middle, on a triangular lattice, where some of the ``points`` (p, 2) lie in."""
    step = STEP * float(np.sqrt(outline.area / _USUAL_AREA))
    left, low, right, high = outline.bounds
    places = cKDTree(points)
    for row, y in enumerate(np.arange(low, high + step, step * np.sqrt(3) / 2)):
        for x in np.arange(left, right + step, step) + 0.5 * step * (row % 2):
            if len(places.query_ball_point((x, y), 0.8 * OVERLAP * step)):
                yield Hollow(np.array([x, y]), OVERLAP * step, 1.0)
