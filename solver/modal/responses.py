"""How the plate gives way where it is thinned: the shapes that a reduced model needs besides the modes.

A hollow shifts the middle surface, and the membrane, stiff as it is, must find another shape in the plane; bending gathers
where the plate is thin. The modes of the plate before know neither: with 40 or 80 of them a hollow of 0.5 mm comes out a
quarter of its change wrong. To first order the missing shape is the plate's answer ``K^-1 (dK - lambda dM) phi`` to the
forces of the thinned section. Small overlapping hollows on a lattice, times the few states of strain that the modes have
in each, span these answers; they are taken in order of their strain energy. Answers to thinning the whole plate, and the
answers to those, are added for changes of the whole map.
"""

from collections.abc import Iterable, Iterator

import numpy as np
from scipy.spatial import cKDTree

from meshes.outline import Outline
from meshes.removal import Hollow
from solver.arrays import Floats, Singles

LATTICE = 0.027
"""Distance of the small hollows [m] on a plate of a violin's size; larger plates take it in proportion."""

OVERLAP = 1.3
"""Radius of each over the distance to the next."""


def lattice_hollows(outline: Outline, points: Floats) -> Iterator[Hollow]:
    """Yield small hollows, 1 deep in their middle, on a triangular lattice, where some of the ``points`` (p, 2) lie in."""
    step = LATTICE * float(np.sqrt(outline.area / 0.055))
    left, low, right, high = outline.bounds
    places = cKDTree(points)
    for row, y in enumerate(np.arange(low, high + step, step * np.sqrt(3) / 2)):
        for x in np.arange(left, right + step, step) + 0.5 * step * (row % 2):
            if len(places.query_ball_point((x, y), 0.8 * OVERLAP * step)):
                yield Hollow(np.array([x, y]), OVERLAP * step, 1.0)


def strongest_sources(
    hollows: Iterable[Hollow],
    points: Floats,
    areas: Floats,
    jets: Singles,
    forces: Singles,
    stiffness: Floats,
    count: int,
) -> Singles:
    """Return the ``count`` sources (p, 15, count) in the ``hollows`` that hold most strain energy, the strongest first.

    ``points`` (p, 2) with plan ``areas`` (p,); ``jets`` (p, 15, m) of the modes are scaled to unit energy, ``forces``
    (p, 15, m) are what thinning makes of them. In each hollow the m modes are turned so that their energies in it part;
    most of it lies in the first three. A hollow that an edge cuts gives way more easily and counts as half-way to a whole.
    """
    energies, parts = [], []
    for hollow in hollows:
        weight = hollow.at(points)
        inside = np.flatnonzero(weight)
        strained = weight[inside, None, None].astype(np.float32) * jets[inside]
        stress = stiffness[inside].astype(np.float32) @ strained
        energy, turn = np.linalg.eigh((_columns(strained).T @ _columns(stress)).astype(np.float64))
        energies.append(energy / np.sqrt(weight @ areas / hollow.volume))
        parts += [(inside, weight[inside], column) for column in turn.T]
    strongest = np.argsort(-np.concatenate(energies), kind="stable")[:count]
    sources = np.zeros((len(points), jets.shape[1], len(strongest)), np.float32)
    for k, which in enumerate(strongest):
        inside, weight, column = parts[which]
        sources[inside, :, k] = weight[:, None] * (forces[inside] @ column.astype(np.float32))
    return sources


def _columns(shapes: Singles) -> Singles:
    return shapes.reshape(-1, shapes.shape[2])
