import numpy as np
import pytest

from solver.core.arrays import Floats, Ints
from solver.viewer.solid import point_normals, rim_edges, solid_plate
from tests.viewer.plain_plate import disc_mesh


def volume(points: Floats, faces: Ints) -> float:
    """Divergence theorem: a sixth of the sum of the corners' triple products."""
    a, b, c = points[faces[:, 0]], points[faces[:, 1]], points[faces[:, 2]]
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


def test_a_flat_disc_is_a_closed_body_of_area_times_thickness() -> None:
    plan, triangles = disc_mesh(6, 40)
    solid = solid_plate(np.column_stack([plan, np.full(len(plan), 0.7)]), triangles, np.full(len(plan), 0.02))
    faces = np.vstack([solid.faces, solid.walls])
    area = 20 * np.sin(2 * np.pi / 40)  # of the regular 40-gon
    assert volume(solid.points, faces) == pytest.approx(0.02 * area)
    edges = np.vstack([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    directed = {tuple(edge) for edge in edges.tolist()}
    assert len(directed) == len(edges)
    assert {(b, a) for a, b in directed} == directed


def test_thickness_goes_inward_along_the_normal_of_a_ball() -> None:
    plan, triangles = disc_mesh(30, 120)
    plan = 0.6 * plan
    points = np.column_stack([plan, np.sqrt(1 - (plan**2).sum(axis=1))])
    np.testing.assert_allclose(point_normals(points, triangles), points, atol=0.02)
    inner = solid_plate(points, triangles, np.full(len(points), 0.1)).points[len(points) :]
    np.testing.assert_allclose(np.linalg.norm(inner, axis=1), 0.9, atol=1e-3)


def test_the_rim_of_a_disc_with_a_hole_runs_round_both_edges() -> None:
    plan, triangles = disc_mesh(5, 12)
    ring = triangles[np.hypot(*plan[triangles].mean(axis=1).T) > 0.2]
    rim = rim_edges(ring)
    radius = np.hypot(*plan.T)
    assert len(rim) == 24
    np.testing.assert_allclose(np.sort(radius[rim[:, 0]]), [0.2] * 12 + [1.0] * 12)
    assert sorted(rim[:, 0]) == sorted(rim[:, 1])
