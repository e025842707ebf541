"""From outline to mesh: quadratic triangles whose boundary edges lie on the true curve."""

from dataclasses import dataclass

import numpy as np
import shapely

from meshes.cut_edges import TOLERANCE, Ring, cut_edges, part_pieces, ring_starts, smoothed_places
from meshes.edge_sizes import GRADING
from meshes.outline import Outline
from meshes.outline_checks import at_place
from meshes.plan_triangles import EndlessMeshError, plan_triangles
from solver.core.arrays import Bools, Floats, Ints, freeze
from solver.core.errors import InputError
from solver.core.units import MM

ELEMENT_SIZE = 0.016
"""Usual element size [m] of a violin plate; larger plates take it in proportion."""

_LEAST = 1 / 12
"""Smallest piece of an edge against the usual one, unless it would stray from the edge."""

_CHANNEL = 0.6  # along the outer edge an arched plate turns fastest
_EDGES = ((0, 1), (1, 2), (0, 2))
_MOST_NODES = 6000
"""Nodes of cubic triangles, of five unknowns each, in a mesh of the usual size."""

_ROUNDS = 6
_POOR, _FOLDED = 0.08, 0.02


@dataclass(frozen=True, eq=False)
class PlateMesh:
    """Curved triangles over the plan of the plate.

    ``nodes`` (n, 2) [m]; ``triangles`` (t, 6): three corners in ascending order of their numbers, then the middles
    of the edges 01, 12 and 02; ``in_bar`` (t,) marks the triangles of the bar's strip; ``quality`` is the least
    ratio of the smallest to the largest Jacobian determinant inside one triangle times its shape quality
    (1 is equilateral and straight); ``smoothed`` says in sentences what detail of the edges was left out.
    """

    nodes: Floats
    triangles: Ints
    in_bar: Bools
    quality: float
    smoothed: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        freeze(self, nodes=((None, 2), float), triangles=((None, 6), int), in_bar=((None,), bool))


def triangulate(outline: Outline, strip: Floats | None = None, size: float | None = None) -> PlateMesh:
    """Return the mesh on which the plate is solved.

    Elements are ``size`` [m] (default: in proportion to the plate, 16 mm on a violin, and so many that the cubic mesh has
    30,000 unknowns at most) and smaller along the outer edge, where an edge turns quickly, or where little wood is left
    between two edges or two stretches of one. ``strip`` (4, 2) is the bar's footprint, which the mesh follows.

    Raises
    ------
    InputError
        If gmsh lacks a system library, or no sound mesh can be made; the place is named.
    """
    coarse, least = size or _default_size(outline), _LEAST
    for _ in range(0 if size is not None else _ROUNDS - 1):
        mesh = _triangulate(outline, strip, coarse, least * coarse, _MOST_NODES)
        if mesh is not None:
            return mesh
        coarse, least = 1.1 * coarse, 1.25 * least
    mesh = _triangulate(outline, strip, coarse, least * coarse)
    assert mesh is not None
    return mesh


def doubts_of_edges(outline: Outline, strip: Floats | None = None) -> tuple[str, ...]:
    """Return what stands in the way of a mesh, in a sentence, or what detail it will leave out; makes no mesh."""
    size = _default_size(outline)
    try:
        return _smoothed(_rings(outline, strip, size, _LEAST * size))
    except InputError as meeting:
        return (str(meeting),)


def _default_size(outline: Outline) -> float:
    return float(np.clip(ELEMENT_SIZE * np.sqrt(outline.area / 0.055), 0.3 * ELEMENT_SIZE, 3 * ELEMENT_SIZE))


def _cubic_nodes(nodes: Floats, triangles: Ints) -> int:
    """Nodes of the cubic mesh: corners, two on each side and one in each triangle."""
    corners = len(np.unique(triangles[:, :3]))
    return corners + 2 * (len(nodes) - corners) + len(triangles)


def _triangulate(
    outline: Outline, strip: Floats | None, size: float, least: float, most: float = np.inf
) -> PlateMesh | None:
    """Mesh with elements of this size, or nothing where the cubic mesh would have more than ``most`` nodes.

    Pieces of an edge at which triangles are poor are cut once more, which only adds nodes.
    """
    rings = _rings(outline, strip, size, least)
    for _ in range(_ROUNDS):
        points, triangles, in_bar = _straight(rings, strip, size)
        nodes, six, sides = _with_middles(points, triangles, rings)
        if _cubic_nodes(nodes, six) > most:
            return None
        quality = _quality(nodes, six)
        poor = _pieces_to_cut(six, quality < _POOR, sides)
        if not poor.any():
            break
        rings = part_pieces(rings, poor, strip)
    nodes = _straightened(nodes, six, quality < _FOLDED)
    quality = _quality(nodes, six)
    if not quality.min() > _FOLDED or (sides < 0).any():
        place = shapely.Point(nodes[six[quality.argmin(), :3]].mean(axis=0))
        raise InputError(
            f"outline: the mesh has a triangle folded or flat {at_place(place)}; expected "
            "room of a few tenths of a millimetre between edges; look there with 'platewright check'"
        )
    return PlateMesh(nodes, six, in_bar, float(quality.min()), _smoothed(rings))


def _rings(outline: Outline, strip: Floats | None, size: float, least: float) -> list[Ring]:
    return cut_edges((outline.edge, *outline.holes), strip, size, least, _CHANNEL * size)


def _smoothed(rings: list[Ring]) -> tuple[str, ...]:
    """Say of each edge where detail is left out."""
    return tuple(
        f"{name}: detail too fine for sound is smoothed, by {away / MM:.2f} mm at most, {at_place(shapely.Point(place))}."
        for name, away, place in smoothed_places(rings)
    )


def _straight(rings: list[Ring], strip: Floats | None, size: float) -> tuple[Floats, Ints, Bools]:
    """Straight triangles between the rings; refused where they take too long."""
    try:
        grid = None if strip is None else _strip_grid(rings, strip, size)
        points, triangles, in_bar = plan_triangles([r.points for r in rings], grid, size)
    except EndlessMeshError:
        pieces = np.vstack([r.points for r in rings])
        narrow = int(np.concatenate([r.lengths for r in rings]).argmin())
        raise InputError(
            "outline: no mesh was found in half a minute; its finest place is "
            f"{at_place(shapely.Point(pieces[narrow]))}. Expected edges that keep clear of each other; "
            "look there with 'platewright check', and leave out what is too fine."
        ) from None
    return points, np.sort(triangles, axis=1), in_bar


def _strip_grid(rings: list[Ring], strip: Floats, size: float) -> Floats:
    """Points (l, w, 2) [m] over the bar's footprint, close together along it where an edge is near."""
    length, width = (float(np.linalg.norm(strip[i + 1] - strip[i])) for i in range(2))
    f = np.linspace(0, 1, 400)
    sides = [np.outer(1 - f, strip[a]) + np.outer(f, strip[b]) for a, b in ((0, 1), (3, 2))]
    near = np.vstack([r.points for r in rings])
    steps = np.concatenate([r.lengths for r in rings])
    wish = np.full(len(f), min(size, 2.2 * width, length / 4))
    for side in sides:
        reach = np.linalg.norm(side[:, None] - near, axis=2)
        wish = np.minimum(wish, (steps + GRADING * reach).min(axis=1))
    count = np.append(0.0, np.cumsum(0.5 * length * np.diff(f) * (1 / wish[1:] + 1 / wish[:-1])))
    along = np.interp(np.linspace(0, count[-1], int(np.ceil(count[-1] - 1e-6)) + 1), count, f)
    across = np.linspace(0, 1, max(1, round(width / size)) + 1)[None, :, None]
    first, second = (np.outer(1 - along, strip[a]) + np.outer(along, strip[b]) for a, b in ((0, 1), (3, 2)))
    return np.asarray(first[:, None] * (1 - across) + second[:, None] * across)


def _with_middles(points: Floats, triangles: Ints, rings: list[Ring]) -> tuple[Floats, Ints, Ints]:
    """Raise straight triangles to curved ones: middles of edges on the boundary are moved onto the curve.

    The last value (pieces,) is the node in the middle of each piece of the rings, -1 where no triangle has it as a side.
    """
    pairs = np.stack([triangles[:, list(e)] for e in _EDGES], axis=1)
    edges, which = np.unique(pairs.reshape(-1, 2), axis=0, return_inverse=True)
    middles = points[edges].mean(axis=1)
    key = edges[:, 0] * len(points) + edges[:, 1]
    ends = np.vstack(
        [np.column_stack([s + np.arange(n), s + (np.arange(n) + 1) % n]) for s, n in ring_starts(rings)]
    )
    ends.sort(axis=1)
    wanted = ends[:, 0] * len(points) + ends[:, 1]
    at = np.minimum(np.searchsorted(key, wanted), len(key) - 1)
    found = key[at] == wanted
    middles[at[found]] = np.vstack([r.middles for r in rings])[found]
    six = np.hstack([triangles, len(points) + which.reshape(-1, 3)])
    return np.vstack([points, middles]), six, np.where(found, len(points) + at, -1)


def _pieces_to_cut(triangles: Ints, poor: Bools, sides: Ints) -> Bools:
    """Tell which pieces of the rings are a side of a poor triangle, or of none, which a mesher may have lost."""
    return np.isin(sides, triangles[poor, 3:]) | (sides < 0)


def _straightened(nodes: Floats, triangles: Ints, folded: Bools) -> Floats:
    """Return the nodes with the sides of folded triangles made straight where that moves them by 0.2 mm at most."""
    nodes = nodes.copy()
    for i, (a, b) in enumerate(_EDGES):
        middle = triangles[folded, 3 + i]
        chord = 0.5 * (nodes[triangles[folded, a]] + nodes[triangles[folded, b]])
        near = np.linalg.norm(nodes[middle] - chord, axis=1) < TOLERANCE
        nodes[middle[near]] = chord[near]
    return nodes


def _quality(nodes: Floats, triangles: Ints) -> Floats:
    """Product (t,) of shape quality and evenness of the Jacobian."""
    p = nodes[triangles]
    dets = np.array([np.linalg.det(_quadratic_gradients(x, y) @ p) for x, y in ((0, 0), (1, 0), (0, 1))])
    dets *= np.sign(dets[0])
    sides = sum(((p[:, i] - p[:, j]) ** 2).sum(axis=1) for i, j in _EDGES)
    largest = np.maximum(np.abs(dets).max(axis=0), 1e-30)
    return np.asarray(dets.min(axis=0) / largest * 2 * np.sqrt(3.0) * largest / sides)


def _quadratic_gradients(x: float, y: float) -> Floats:
    """Gradients (2, 6) of the quadratic shape functions at a point of the reference triangle."""
    z = 1 - x - y
    return np.array(
        [
            [1 - 4 * z, 4 * x - 1, 0, 4 * (z - x), 4 * y, -4 * y],
            [1 - 4 * z, 0, 4 * y - 1, -4 * x, 4 * x, 4 * (z - y)],
        ]
    )
