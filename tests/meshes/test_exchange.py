from pathlib import Path

import meshio
import numpy as np
import pytest
import pyvista

from meshes.exchange import write_vtu
from solver.core.arrays import Floats, Ints
from solver.core.errors import InputError

HZ = np.array([93.42, 342.06])
FIELDS = ["shape_01_93.4Hz", "shape_02_342.1Hz"]


@pytest.fixture
def surface() -> tuple[Floats, Ints, Floats, Floats]:
    """A saddle of 5 x 4 points with two shapes and a thickness that all differ from point to point."""
    x, y = np.meshgrid(np.linspace(0.0, 0.3, 5), np.linspace(-0.1, 0.1, 4), indexing="ij")
    points = np.stack([x, y, x * y], axis=-1).reshape(-1, 3)
    corner = np.array([4 * i + j for i in range(4) for j in range(3)])
    triangles = np.vstack([corner[:, None] + [0, 4, 5], corner[:, None] + [0, 5, 1]])
    shapes = np.random.default_rng(5).normal(size=(2, len(points), 3))
    return points, triangles, 0.002 + 0.01 * points[:, 0] ** 2, shapes


def test_what_is_written_is_read_back(tmp_path: Path, surface: tuple[Floats, Ints, Floats, Floats]) -> None:
    points, triangles, thickness, shapes = surface
    write_vtu(tmp_path / "plate.vtu", points, triangles, thickness, HZ, shapes)
    mesh = meshio.read(tmp_path / "plate.vtu")
    np.testing.assert_array_equal(mesh.points, points)
    np.testing.assert_array_equal(mesh.cells_dict["triangle"], triangles)
    np.testing.assert_array_equal(mesh.point_data["thickness"], thickness)
    assert list(mesh.point_data) == ["thickness", *FIELDS]
    for field, shape in zip(FIELDS, shapes, strict=True):
        np.testing.assert_array_equal(mesh.point_data[field], shape)


def test_a_general_viewer_reads_it(tmp_path: Path, surface: tuple[Floats, Ints, Floats, Floats]) -> None:
    points, triangles, thickness, shapes = surface
    write_vtu(tmp_path / "plate.vtu", points, triangles, thickness, HZ, shapes)
    mesh = pyvista.read(tmp_path / "plate.vtu")
    assert mesh.n_cells == len(triangles)
    np.testing.assert_array_equal(mesh[FIELDS[1]], shapes[1])
    moved = mesh.warp_by_vector(FIELDS[0], factor=0.5)
    np.testing.assert_allclose(moved.points, points + 0.5 * shapes[0])
    corners = points[triangles]
    area = 0.5 * np.linalg.norm(
        np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1
    )
    assert mesh.area == pytest.approx(area.sum())


def test_another_ending_is_refused(tmp_path: Path, surface: tuple[Floats, Ints, Floats, Floats]) -> None:
    points, triangles, thickness, shapes = surface
    with pytest.raises(InputError, match=r"plate\.stl: .*expected a name that ends in \.vtu"):
        write_vtu(tmp_path / "plate.stl", points, triangles, thickness, HZ, shapes)
    assert list(tmp_path.iterdir()) == []


def test_nothing_half_written_stays(tmp_path: Path, surface: tuple[Floats, Ints, Floats, Floats]) -> None:
    points, triangles, thickness, shapes = surface
    (tmp_path / "plate.vtu").write_text("before")
    with pytest.raises(ValueError, match="zip"):
        write_vtu(tmp_path / "plate.vtu", points, triangles, thickness, HZ[:1], shapes)
    with pytest.raises(InputError):
        write_vtu(tmp_path / "plate.vtu" / "inside.vtu", points, triangles, thickness, HZ, shapes)
    assert [file.name for file in tmp_path.iterdir()] == ["plate.vtu"]
    assert (tmp_path / "plate.vtu").read_text() == "before"
