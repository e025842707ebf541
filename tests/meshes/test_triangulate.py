"""The mesh against exact areas, and its promises about edges, strip and quality."""

import sys

import numpy as np
import pytest

from meshes.edge import Edge, edge_through
from meshes.outline import make_outline
from meshes.triangulate import PlateMesh, triangulate
from solver.core.arrays import Floats
from solver.core.errors import InputError


def _ellipse(
    a: float, b: float, centre: tuple[float, float] = (0.0, 0.0), name: str = "outline", n: int = 400
) -> Edge:
    t = 2 * np.pi * np.arange(n) / n
    return edge_through(np.column_stack([centre[0] + a * np.cos(t), centre[1] + b * np.sin(t)]), name)


def _area(mesh: PlateMesh) -> float:
    """Area between the curved edges: that of the corner triangles and the parabolic segments on their sides."""
    p = mesh.nodes[mesh.triangles]
    ring = p[:, [0, 3, 1, 4, 2, 5]]
    following = np.roll(ring, -1, axis=1)
    polygon = 0.5 * (ring[..., 0] * following[..., 1] - ring[..., 1] * following[..., 0]).sum(axis=1)
    corner = p[:, :3]
    after = np.roll(corner, -1, axis=1)
    straight = 0.5 * (corner[..., 0] * after[..., 1] - corner[..., 1] * after[..., 0]).sum(axis=1)
    # a parabola through three points encloses 4/3 of the triangle between them
    return float(np.abs(straight + 4 / 3 * (polygon - straight)).sum())


@pytest.mark.parametrize(("a", "b"), [(0.1, 0.1), (0.178, 0.08)])
def test_area_of_disc_and_ellipse(a: float, b: float) -> None:
    mesh = triangulate(make_outline(_ellipse(a, b)))
    assert _area(mesh) == pytest.approx(np.pi * a * b, rel=5e-4)


def test_area_converges_at_fourth_order() -> None:
    """Curved quadratic edges: the error of the area falls with the fourth power of the element size."""
    sizes = np.array([0.040, 0.020, 0.010])
    outline = make_outline(_ellipse(0.1, 0.1, n=2000))
    errors = [abs(_area(triangulate(outline, size=s)) - np.pi * 0.01) for s in sizes]
    rate = np.polyfit(np.log(sizes), np.log(errors), 1)[0]
    assert rate > 3.0


def test_boundary_nodes_lie_on_the_edges() -> None:
    holes = [_ellipse(0.012, 0.004, (0.0, y), name, 80) for y, name in ((0.04, "bass"), (-0.04, "treble"))]
    mesh = triangulate(make_outline(_ellipse(0.178, 0.08), holes))
    x, y = mesh.nodes[_boundary(mesh)].T
    outer = np.abs((x / 0.178) ** 2 + (y / 0.08) ** 2 - 1)
    inner = np.abs((x / 0.012) ** 2 + ((np.abs(y) - 0.04) / 0.004) ** 2 - 1)
    assert np.minimum(outer, inner).max() < 1e-4
    assert (inner < 1e-4).any()


def test_strip_is_followed_exactly() -> None:
    strip = np.array([[-0.1, 0.010], [0.1, 0.015], [0.0998, 0.0205], [-0.1002, 0.0155]])
    mesh = triangulate(make_outline(_ellipse(0.178, 0.08)), strip)
    p = mesh.nodes[mesh.triangles[mesh.in_bar][:, :3]]
    u, v = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    area = 0.5 * np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum()
    d, e = strip[2] - strip[0], strip[3] - strip[1]
    assert area == pytest.approx(0.5 * abs(d[0] * e[1] - d[1] * e[0]), rel=1e-9)


def test_corners_of_triangles_ascend_and_quality_is_sound() -> None:
    mesh = triangulate(make_outline(_ellipse(0.178, 0.08)))
    assert (np.diff(mesh.triangles[:, :3], axis=1) > 0).all()
    assert mesh.quality > 0.4


def test_missing_system_library_is_said_in_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    class _Broken:
        def find_spec(self, name: str, *_: object) -> None:
            if name == "gmsh":
                raise OSError("libGLU.so.1: cannot open shared object file")

    monkeypatch.delitem(sys.modules, "gmsh", raising=False)
    monkeypatch.setattr(sys, "meta_path", [_Broken(), *sys.meta_path])
    with pytest.raises(InputError, match=r"libGLU.*apt-get install libglu1-mesa"):
        triangulate(make_outline(_ellipse(0.1, 0.1)))


def _boundary(mesh: PlateMesh) -> Floats:
    """Numbers of the nodes on edges that belong to one triangle only."""
    sides = np.concatenate(
        [mesh.triangles[:, [0, 1, 3]], mesh.triangles[:, [1, 2, 4]], mesh.triangles[:, [0, 2, 5]]]
    )
    _, first, times = np.unique(sides[:, 2], return_index=True, return_counts=True)
    return np.unique(sides[first[times == 1]])
