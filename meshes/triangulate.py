"""From outline to mesh: quadratic triangles whose boundary edges lie on the true curve. The only door to gmsh."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from types import ModuleType

import numpy as np

from meshes.outline import Edge, Outline
from solver.arrays import Bools, Floats, Ints, freeze
from solver.errors import InputError

ELEMENT_SIZE = 0.016
"""Usual element size [m] of a violin plate; larger plates take it in proportion."""

_TURN_PER_ELEMENT = np.radians(90.0)
_GRADING = 0.6
_CHANNEL = 0.6  # along the outer edge an arched plate turns fastest
_EDGES = ((0, 1), (1, 2), (0, 2))
_GMSH_CURE = (
    "gmsh: a system library it needs is missing ({reason}); expected a machine with GL and X client libraries; "
    "on Debian or Ubuntu run: apt-get install libglu1-mesa libgl1 libxcursor1 libxft2 libxinerama1 libgomp1"
)


@dataclass(frozen=True, eq=False)
class PlateMesh:
    """Curved triangles over the plan of the plate.

    ``nodes`` (n, 2) [m]; ``triangles`` (t, 6): three corners in ascending order of their numbers, then the middles
    of the edges 01, 12 and 02; ``in_bar`` (t,) marks the triangles of the bar's strip; ``quality`` is the least
    ratio of the smallest to the largest Jacobian determinant inside one triangle times its shape quality
    (1 is equilateral and straight).
    """

    nodes: Floats
    triangles: Ints
    in_bar: Bools
    quality: float

    def __post_init__(self) -> None:
        freeze(self, nodes=((None, 2), float), triangles=((None, 6), int), in_bar=((None,), bool))


@dataclass(frozen=True, eq=False)
class _Ring:
    """One closed edge cut at ``marks`` (arc lengths [m]); ``points`` are the curve there."""

    edge: Edge
    marks: Floats
    points: Floats

    def middle(self, i: int) -> Floats:
        """Point of the curve half-way between mark i and the next."""
        nxt = self.marks[i + 1] if i + 1 < len(self.marks) else self.marks[0] + self.edge.length
        return np.asarray(self.edge.at(np.array([0.5 * (self.marks[i] + nxt)]))[0])


def triangulate(outline: Outline, strip: Floats | None = None, size: float | None = None) -> PlateMesh:
    """Return the mesh on which the plate is solved.

    Elements are ``size`` [m] (default: in proportion to the plate, 16 mm on a violin) and smaller along the outer edge,
    where an edge turns quickly, or where two edges come near each other. ``strip`` (4, 2) is the bar's footprint, which
    the mesh follows.

    Raises
    ------
    InputError
        If gmsh lacks a system library, or no sound mesh can be made even with elements four times smaller.
    """
    size = size or _default_size(outline)
    for _ in range(3):
        mesh = _triangulate_once(outline, strip, size)
        if mesh.quality > 0.02:
            return mesh
        size *= 0.63
    raise InputError(
        f"outline: the mesh has a triangle folded or flat near a narrow place (quality {mesh.quality:.3f}); "
        "expected room of a few millimetres between edges; look at the holes and corners with 'platewright check'"
    )


def _default_size(outline: Outline) -> float:
    return float(np.clip(ELEMENT_SIZE * np.sqrt(outline.area / 0.055), 0.3 * ELEMENT_SIZE, 3 * ELEMENT_SIZE))


def _triangulate_once(outline: Outline, strip: Floats | None, size: float) -> PlateMesh:
    rings = _cut_rings((outline.edge, *outline.holes), strip, size)
    with _gmsh() as gmsh:
        points, triangles, in_bar = _mesh_polygon(gmsh, [r.points for r in rings], strip, size)
    nodes, six = _with_middles(points, triangles, rings)
    return PlateMesh(nodes, six, in_bar, _quality(nodes, six))


def _cut_rings(edges: tuple[Edge, ...], strip: Floats | None, size: float) -> list[_Ring]:
    """Cut every edge into pieces that suit its curvature and the distance to its neighbours."""
    samples = [np.arange(0.0, e.length, min(0.001, e.length / 400)) for e in edges]
    clouds = [e.at(s) for e, s in zip(edges, samples, strict=True)]
    strip_cloud = [] if strip is None else [_along_strip(strip, 0.003)]
    rings = []
    for i, (edge, s) in enumerate(zip(edges, samples, strict=True)):
        others = [c for j, c in enumerate(clouds) if j != i] + strip_cloud
        most = size if i else _CHANNEL * size
        wish = np.minimum(_size_by_curvature(edge, s, most), _size_by_gap(clouds[i], others, most))
        marks = _place_marks(edge, s, _graded(wish, edge.length / len(s)))
        rings.append(_Ring(edge, marks, edge.at(marks)))
    return rings


def _along_strip(strip: Floats, step: float) -> Floats:
    n = max(2, int(np.linalg.norm(strip[1] - strip[0]) / step))
    f = np.linspace(0, 1, n)[:, None]
    return np.vstack([strip[0] * (1 - f) + strip[1] * f, strip[3] * (1 - f) + strip[2] * f])


def _size_by_curvature(edge: Edge, s: Floats, size: float) -> Floats:
    tangent = edge.tangent(s)
    turn = np.abs(np.angle(np.exp(1j * np.diff(np.angle(tangent[:, 0] + 1j * tangent[:, 1]), append=np.nan))))
    step = edge.length / len(s)
    turn[-1] = turn[0]
    smooth = np.where(turn > np.radians(15.0), 0.0, turn)  # corners are kept as corners, not as tight bends
    return np.asarray(np.clip(_TURN_PER_ELEMENT * step / np.maximum(smooth, 1e-9), size / 20, size))


def _size_by_gap(points: Floats, others: list[Floats], size: float) -> Floats:
    if not others:
        return np.full(len(points), size)
    from scipy.spatial import cKDTree

    gap = cKDTree(np.vstack(others)).query(points)[0]
    return np.clip(gap, size / 8, size)


def _graded(wish: Floats, step: float) -> Floats:
    """Let the size grow by no more than a fixed slope along the closed edge."""
    n = len(wish)
    rise = _GRADING * step * np.arange(n)
    twice = np.concatenate([wish, wish])
    forward = np.minimum.accumulate(twice - np.concatenate([rise, rise + _GRADING * step * n]))
    ahead = (forward + np.concatenate([rise, rise + _GRADING * step * n]))[n:]
    back = np.concatenate([ahead, ahead])[::-1]
    backward = np.minimum.accumulate(back - np.concatenate([rise, rise + _GRADING * step * n]))
    return np.asarray((backward + np.concatenate([rise, rise + _GRADING * step * n]))[n:][::-1])


def _place_marks(edge: Edge, s: Floats, wish: Floats) -> Floats:
    """Arc lengths [m] of the cuts: every corner, and between corners steps in proportion to the wished size."""
    step = edge.length / len(s)
    count = np.concatenate([[0.0], np.cumsum(step / wish)])
    reach = np.append(s, edge.length)
    stops = edge.corner_marks if len(edge.corner_marks) else np.array([0.0])
    marks = []
    for start, stop in zip(stops, np.append(stops[1:], stops[0] + edge.length), strict=True):
        a = np.interp(start, reach, count)
        b = np.interp(stop % edge.length, reach, count) + (count[-1] if stop >= edge.length else 0.0)
        n = max(1 if len(edge.corner_marks) > 1 else 6, int(np.ceil(b - a - 0.3)))
        inside = np.linspace(a, b, n, endpoint=False)
        marks.append(np.interp(inside % count[-1], count, reach))
    return np.unique(np.round(np.concatenate(marks) % edge.length, 12))


@contextmanager
def _gmsh() -> Iterator[ModuleType]:
    """Lend gmsh, quiet and clean, and close it again."""
    try:
        import gmsh
    except OSError as missing:
        raise InputError(_GMSH_CURE.format(reason=missing)) from missing
    gmsh.initialize(interruptible=False, readConfigFiles=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.option.setNumber("General.NumThreads", 1)
        gmsh.option.setNumber("Mesh.Algorithm", 6)
        yield gmsh
    finally:
        gmsh.finalize()


def _mesh_polygon(
    gmsh: ModuleType, rings: list[Floats], strip: Floats | None, size: float
) -> tuple[Floats, Ints, Bools]:
    """Triangulate between the rings; return straight triangles over points whose first ones are the rings'."""
    gmsh.model.add("plate")
    geo = gmsh.model.geo
    loops = [_add_loop(geo, ring) for ring in rings]
    surfaces = []
    if strip is not None:
        lines = _add_strip(geo, strip, size)
        loops.append(geo.addCurveLoop(lines))
        surfaces.append(geo.addPlaneSurface([loops[-1]]))
        geo.mesh.setTransfiniteSurface(surfaces[0])
    surfaces.append(geo.addPlaneSurface(loops))
    geo.synchronize()
    gmsh.model.mesh.setSizeCallback(_graded_size(rings, size))
    gmsh.option.setNumber("Mesh.MeshSizeExtendFromBoundary", 0)
    gmsh.model.mesh.generate(2)
    tags, coordinates, _ = gmsh.model.mesh.getNodes()
    order = np.argsort(tags)
    row = np.zeros(int(tags.max()) + 1, dtype=int)
    row[tags[order]] = np.arange(len(tags))
    per_surface = [gmsh.model.mesh.getElementsByType(2, surface)[1].reshape(-1, 3) for surface in surfaces]
    triangles = row[np.vstack(per_surface).astype(int)]
    in_bar = np.repeat(
        [strip is not None and i == 0 for i in range(len(surfaces))], [len(p) for p in per_surface]
    )
    return coordinates.reshape(-1, 3)[order, :2], triangles, in_bar


def _graded_size(rings: list[Floats], size: float) -> Callable[[int, int, float, float, float, float], float]:
    """Return gmsh's size function: it grows by a fixed slope from the pieces that the edges were cut into."""
    steps = np.concatenate([np.linalg.norm(np.roll(r, -1, axis=0) - r, axis=1) for r in rings])
    middles = np.vstack([0.5 * (r + np.roll(r, -1, axis=0)) for r in rings])

    def wished(_dim: int, _tag: int, x: float, y: float, _z: float, _given: float) -> float:
        reach = np.hypot(middles[:, 0] - x, middles[:, 1] - y)
        return float(min(size, (steps + _GRADING * reach).min()))

    return wished


def _add_loop(geo: ModuleType, points: Floats) -> int:
    tags = [geo.addPoint(x, y, 0.0) for x, y in points]
    lines = [geo.addLine(a, b) for a, b in zip(tags, tags[1:] + tags[:1], strict=True)]
    for line in lines:
        geo.mesh.setTransfiniteCurve(line, 2)
    return int(geo.addCurveLoop(lines))


def _add_strip(geo: ModuleType, strip: Floats, size: float) -> list[int]:
    length, width = (float(np.linalg.norm(strip[i + 1] - strip[i])) for i in range(2))
    along = max(4, int(np.ceil(length / min(size, 2.2 * width))))
    across = max(1, round(width / size))
    tags = [geo.addPoint(x, y, 0.0) for x, y in strip]
    lines = [geo.addLine(tags[i], tags[(i + 1) % 4]) for i in range(4)]
    for line, n in zip(lines, (along, across, along, across), strict=True):
        geo.mesh.setTransfiniteCurve(line, n + 1)
    return lines


def _with_middles(points: Floats, triangles: Ints, rings: list[_Ring]) -> tuple[Floats, Ints]:
    """Raise straight triangles to curved ones: edge middles on the boundary are moved onto the curve."""
    triangles = np.sort(triangles, axis=1)
    pairs = np.stack([triangles[:, list(e)] for e in _EDGES], axis=1)
    edges, which = np.unique(pairs.reshape(-1, 2), axis=0, return_inverse=True)
    middles = points[edges].mean(axis=1)
    number = {(int(a), int(b)): k for k, (a, b) in enumerate(edges)}
    first = 0
    for ring in rings:
        n = len(ring.marks)
        for i in range(n):
            a, b = first + i, first + (i + 1) % n
            middles[number[min(a, b), max(a, b)]] = ring.middle(i)
        first += n
    six = np.hstack([triangles, len(points) + which.reshape(-1, 3)])
    return np.vstack([points, middles]), six


def _quality(nodes: Floats, triangles: Ints) -> float:
    """Least product of shape quality and evenness of the Jacobian over the triangles."""
    p = nodes[triangles]
    dets = np.array([np.linalg.det(_quadratic_gradients(x, y) @ p) for x, y in ((0, 0), (1, 0), (0, 1))])
    dets *= np.sign(dets[0])
    sides = sum(((p[:, i] - p[:, j]) ** 2).sum(axis=1) for i, j in _EDGES)
    shape = 2 * np.sqrt(3.0) * np.abs(dets).max(axis=0) / sides
    return float((dets.min(axis=0) / np.abs(dets).max(axis=0) * shape).min())


def _quadratic_gradients(x: float, y: float) -> Floats:
    """Gradients (2, 6) of the quadratic shape functions at a point of the reference triangle."""
    z = 1 - x - y
    return np.array(
        [
            [1 - 4 * z, 4 * x - 1, 0, 4 * (z - x), 4 * y, -4 * y],
            [1 - 4 * z, 0, 4 * y - 1, -4 * x, 4 * x, 4 * (z - y)],
        ]
    )
