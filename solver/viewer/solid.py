"""The plate as a body to be looked at from all sides: outer surface, inner surface and the edge between."""

from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats, Ints


@dataclass(frozen=True, eq=False)
class Solid:
    """Surface of a plate: ``points`` (2n, 3) [m] are the n outer ones, then the inner ones below them.

    ``faces`` (2t, 3) are the two carved surfaces, ``walls`` (w, 3) the cut edge, all anticlockwise seen from
    outside the body.
    """

    points: Floats
    faces: Ints
    walls: Ints


def solid_plate(points: Floats, triangles: Ints, thickness: Floats) -> Solid:
    """Return the body under an outer surface (n, 3) [m], ``thickness`` (n,) [m] deep along its normal."""
    n = len(points)
    inner = points - thickness[:, None] * point_normals(points, triangles)
    rim = rim_edges(triangles)
    start, end = rim[:, 0], rim[:, 1]
    walls = np.vstack(
        [np.stack([end, start, start + n], axis=1), np.stack([end, start + n, end + n], axis=1)]
    )
    return Solid(np.vstack([points, inner]), np.vstack([triangles, triangles[:, ::-1] + n]), walls)


def point_normals(points: Floats, triangles: Ints) -> Floats:
    """Return the unit normals (n, 3) of a surface at its points, each triangle weighing by its area."""
    corners = points[triangles]
    areas = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals = np.zeros_like(points)
    for corner in range(3):
        np.add.at(normals, triangles[:, corner], areas)
    return np.asarray(normals / np.linalg.norm(normals, axis=1, keepdims=True))


def rim_edges(triangles: Ints) -> Ints:
    """Return the edges (e, 2) that belong to one triangle only, running with the surface on their left."""
    edges = np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    _, which, count = np.unique(np.sort(edges, axis=1), axis=0, return_inverse=True, return_counts=True)
    return np.asarray(edges[count[which.ravel()] == 1])
