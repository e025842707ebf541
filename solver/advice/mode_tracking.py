"""Modes of plates that differ a little, matched by shape, so that a tone keeps its number where two cross."""

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from scipy.optimize import linear_sum_assignment
from scipy.spatial import cKDTree

from meshes.cells import Cells
from solver.core.arrays import Floats, Ints
from solver.modal.modes import Modes


def weighed_shapes(modes: Modes, cells: Cells) -> Floats:
    """Return each mode's motion at places that belong to no mesh, as unit rows (k, 3 n).

    The motion of the outer surface at the n cells is weighted by the square root of the wood in them, so that the scalar
    product of two rows is that of the modes by the plate's mass, up to the turning of the section.
    """
    nearest = cKDTree(modes.points[:, :2]).query(cells.points)[1]
    wood = cells.areas * modes.thickness[nearest] / modes.normals[nearest, 2]
    rows = (modes.displacement[:, nearest] * np.sqrt(wood)[:, None]).reshape(len(modes.hz), -1)
    return np.asarray(rows / np.linalg.norm(rows, axis=1, keepdims=True))


def likeness(before: Floats, after: Floats) -> Floats:
    """Return how alike the shapes of two plates are (k, k), 1 for the same: the modal assurance criterion.

    ``(a . b)^2`` of unit rows (R. J. Allemang and D. L. Brown, 1st International Modal Analysis Conference, 1982; from
    memory).
    """
    return np.asarray((before @ after.T) ** 2)


def matched(before: Floats, after: Floats) -> Ints:
    """Return for each shape (k,) of the plate before its place among those after, each used once, as alike as possible."""
    return np.asarray(linear_sum_assignment(likeness(before, after), maximize=True)[1])


def same_tones(before: Modes, after: Modes) -> tuple[Ints, float]:
    """Return for each mode (k,) of a plate its place after the plate has changed a little, on the same mesh.

    Beside it stands the likeness of the shape that has changed most.
    """
    shapes = [modes.displacement.reshape(len(modes.hz), -1) for modes in (before, after)]
    one, other = (rows / np.linalg.norm(rows, axis=1, keepdims=True) for rows in shapes)
    places = matched(one, other)
    return places, float(likeness(one, other)[np.arange(len(places)), places].min())


def followed(shapes: Sequence[Floats]) -> Ints:
    """Return the places (r, k) of k shapes through r plates: row by row what the shape before went over into."""
    places = [np.arange(len(shapes[0]))]
    for before, after in pairwise(shapes):
        places.append(matched(before, after)[places[-1]])
    return np.array(places)


def agreed_names(names: Sequence[Sequence[str | None]], places: Ints) -> tuple[str | None, ...]:
    """Return one number for each followed shape (k,): the one that it bears in most plates, each number used once.

    ``names`` (r, k) are those that each plate alone gives to its tones in order of frequency.
    """
    votes = Counter(
        (shape, name)
        for own, row in zip(names, places, strict=True)
        for shape, place in enumerate(row)
        if (name := own[place]) is not None
    )
    given: dict[int, str] = {}
    for (shape, name), _ in votes.most_common():
        if shape not in given and name not in given.values():
            given[shape] = name
    return tuple(given.get(shape) for shape in range(places.shape[1]))
