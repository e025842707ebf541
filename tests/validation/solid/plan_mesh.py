"""A quadratic triangulation of a reference plate in plan, its edge nodes on the exact edge."""

from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Bools, Floats, Ints
from tests.validation.solid.plate import ReferencePlate


@dataclass(frozen=True, eq=False)
class PlanMesh:
    """``nodes`` (n, 2) [m]; ``triangles`` (t, 6): corners, middles of 01, 12, 20; ``under_bar`` (t,)."""

    nodes: Floats
    triangles: Ints
    under_bar: Bools


@dataclass(frozen=True, eq=False)
class _Loop:
    """A closed polygon of edge points (n, 2) with the exact middles (n, 2) of its sides."""

    points: Floats
    middles: Floats


def plan_mesh(plate: ReferencePlate, size: float, across_bar: int = 1) -> PlanMesh:
    """Triangulate with sides of about ``size`` [m], finer at holes; ``across_bar`` over the bar's width."""
    loops = [_Loop(*plate.edge.divided(size))]
    loops += [_Loop(*hole.divided(min(size, _hole_step(hole.divided(1e-3)[0])))) for hole in plate.holes]
    if plate.bar is not None:
        loops.append(_strip(plate.bar.footprint, size, across_bar))
    nodes, corners, under_bar = _triangulate(loops, with_strip=plate.bar is not None, size=size)
    return _quadratic(nodes, corners, under_bar, loops)


def _hole_step(points: Floats) -> float:
    """A step that resolves the hole's narrowest way with about four elements round each end."""
    area = 0.5 * abs(
        np.sum(points[:, 0] * np.roll(points[:, 1], -1) - points[:, 1] * np.roll(points[:, 0], -1))
    )
    length = np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1).sum()
    return float(2 * area / length)


def _strip(footprint: Floats, size: float, across: int) -> _Loop:
    """The bar's edge: even steps along it, a node at half its length, and ``across`` over its width."""
    a, b, c, d = footprint
    width, length = float(np.linalg.norm(c - b)), float(np.linalg.norm(b - a))
    along = 2 * int(np.ceil(length / (2 * min(size, 1.3 * width / across))))
    sides = [(a, b, along), (b, c, across), (c, d, along), (d, a, across)]
    fine = [p + np.linspace(0, 1, 2 * n + 1)[:, None] * (q - p) for p, q, n in sides]
    return _Loop(np.concatenate([f[0:-1:2] for f in fine]), np.concatenate([f[1::2] for f in fine]))


def _triangulate(loops: list[_Loop], with_strip: bool, size: float) -> tuple[Floats, Ints, Bools]:
    import gmsh

    gmsh.initialize(interruptible=False)
    try:
        gmsh.option.setNumber("General.Verbosity", 0)
        gmsh.option.setNumber("Mesh.Algorithm", 6)
        gmsh.option.setNumber("Mesh.MeshSizeMax", size)
        geo = gmsh.model.geo
        wires = [_wire(loop) for loop in loops]
        surfaces = [geo.addPlaneSurface(wires)]
        if with_strip:
            surfaces.append(geo.addPlaneSurface(wires[-1:]))
        geo.synchronize()
        gmsh.model.mesh.generate(2)
        tags, xyz, _ = gmsh.model.mesh.getNodes()
        row = np.zeros(int(tags.max()) + 1, dtype=np.int64)
        row[tags] = np.arange(len(tags))
        found = [row[gmsh.model.mesh.getElements(2, s)[2][0].reshape(-1, 3)] for s in surfaces]
    finally:
        gmsh.finalize()
    under = np.concatenate([np.full(len(f), k == 1) for k, f in enumerate(found)])
    return xyz.reshape(-1, 3)[:, :2], np.concatenate(found), under


def _wire(loop: _Loop) -> int:
    """Points and straight lines of one closed loop; the mesh may not divide them further."""
    import gmsh

    geo = gmsh.model.geo
    step = np.linalg.norm(loop.points - np.roll(loop.points, -1, axis=0), axis=1)
    near = 0.5 * (step + np.roll(step, 1))
    tags = [geo.addPoint(x, y, 0.0, s) for (x, y), s in zip(loop.points, near, strict=True)]
    lines = [geo.addLine(a, b) for a, b in zip(tags, tags[1:] + tags[:1], strict=True)]
    for tag in lines:
        geo.mesh.setTransfiniteCurve(tag, 2)
    return int(geo.addCurveLoop(lines))


def _quadratic(nodes: Floats, corners: Ints, under_bar: Bools, loops: list[_Loop]) -> PlanMesh:
    """Add the middle nodes: half-way inside, on the exact curve at the edges."""
    a, b, c = corners.T
    flip = np.cross(np.c_[nodes[b] - nodes[a], 0 * a], np.c_[nodes[c] - nodes[a], 0 * a])[:, 2] < 0
    corners = np.where(flip[:, None], corners[:, [0, 2, 1]], corners)
    sides = np.sort(corners[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    unique, which = np.unique(sides, axis=0, return_inverse=True)
    middles = nodes[unique].mean(axis=1)
    index = {(int(p), int(q)): k for k, (p, q) in enumerate(unique)}
    for loop in loops:
        at = [int(np.argmin(((nodes - p) ** 2).sum(axis=1))) for p in loop.points]
        for p, q, middle in zip(at, at[1:] + at[:1], loop.middles, strict=True):
            middles[index[min(p, q), max(p, q)]] = middle
    triangles = np.hstack([corners, len(nodes) + which.reshape(-1, 3)])
    return PlanMesh(np.vstack([nodes, middles]), triangles, under_bar)
