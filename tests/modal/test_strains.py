"""The strain operators: no strain in rigid motion, exact strain in a known one."""

import numpy as np
import pytest

from meshes.arch import SurfacePoints
from solver.core.arrays import Floats
from solver.modal.strains import Middle, layer_frame, strain_operators
from solver.modal.surface import Surface, surface_at


class _Saddle:
    """z = a x^2 + b x y + c y^2 + d, curved both ways and tilted."""

    def at(self, points: Floats) -> SurfacePoints:
        a, b, c = 3.0, 1.5, -2.0
        x, y = points.T
        hessian = np.tile([[2 * a, b], [b, 2 * c]], (len(points), 1, 1))
        return SurfacePoints(
            a * x**2 + b * x * y + c * y**2, np.column_stack([2 * a * x + b * y, b * x + 2 * c * y]), hessian
        )


POINTS = np.random.default_rng(5).uniform(-0.1, 0.1, (40, 2))


def _exact_fields(
    motion: Floats, motion_change: Floats, turn: Floats, turn_change: Floats
) -> tuple[Floats, Floats, Floats]:
    """Shape functions and freedoms that give one point's fields exactly: value in node 0, derivatives in 1 and 2."""
    p = len(motion)
    values, gradients = np.zeros((p, 10)), np.zeros((p, 10, 2))
    values[:, 0] = 1.0
    gradients[:, 1, 0] = gradients[:, 2, 1] = 1.0
    freedoms = np.zeros((p, 10, 5))
    freedoms[:, 0] = np.concatenate([motion, turn], axis=1)
    for a in range(2):
        freedoms[:, 1 + a] = np.concatenate([motion_change[:, a], turn_change[:, a]], axis=1)
    return values, gradients, freedoms.reshape(p, 50)


def _strains(surface: Surface, middle: Middle, *fields: Floats) -> tuple[Floats, Floats]:
    values, gradients, freedoms = _exact_fields(*fields)
    frame = layer_frame(surface, middle)
    stretch, bend = strain_operators(surface, middle, frame, values, gradients)
    return np.einsum("pci,pi->pc", stretch, freedoms), np.einsum("pci,pi->pc", bend, freedoms)


def _middle(p: int) -> Middle:
    return Middle(np.full(p, -1.5e-3), np.full((p, 2), 0.01), np.full(p, 3e-3), np.array([1.0, 0.0]))


@pytest.mark.parametrize("axis", np.eye(3))
def test_a_turn_strains_nothing(axis: Floats) -> None:
    """A rigid turn on a doubly curved surface: displacement omega x X, director omega x n, both exactly."""
    surface = surface_at(_Saddle(), POINTS)
    height = _Saddle().at(POINTS).height
    places = np.column_stack([POINTS, height])
    n, n_change = surface.normal, surface.normal_change
    spin, nz = axis[2], n[:, 2:]
    turn = (axis - n * spin / nz)[:, :2]
    turn_change = (
        -spin * (n_change / nz[:, None] - n[:, None] * n_change[:, :, 2:] / nz[:, None] ** 2)[..., :2]
    )
    strains = _strains(
        surface, _middle(40), np.cross(axis, places), np.cross(axis, surface.tangents), turn, turn_change
    )
    assert np.abs(strains[0]).max() < 1e-12
    assert np.abs(strains[1]).max() < 1e-10


def test_swelling_of_a_sphere() -> None:
    """A spherical shell that grows by the factor 1 + e stretches by e in every direction (closed form)."""
    radius, grown = 0.2, 1e-3

    class Sphere:
        def at(self, points: Floats) -> SurfacePoints:
            x, y = points.T
            q = np.sqrt(radius**2 - x**2 - y**2)
            cross = points[:, :, None] * points[:, None, :]
            return SurfacePoints(
                q, -points / q[:, None], -np.eye(2) / q[:, None, None] - cross / q[:, None, None] ** 3
            )

    surface = surface_at(Sphere(), POINTS)
    middle = Middle(np.full(40, -0.002), np.zeros((40, 2)), np.full(40, 0.004), np.array([1.0, 0.0]))
    # radial motion e R n of the outer surface; the director does not turn
    moved = grown * radius * surface.normal
    stretch, bend = _strains(
        surface,
        middle,
        moved,
        grown * radius * surface.normal_change,
        np.zeros((40, 2)),
        np.zeros((40, 2, 2)),
    )
    # at the middle, radius R - 2 mm, the same radial motion stretches by e R / (R - 2 mm)
    assert stretch[:, :2] == pytest.approx(grown * radius / (radius - 0.002), rel=1e-3)
    assert np.abs(stretch[:, 2:]).max() < 1e-12
    assert bend[:, :2] == pytest.approx(-grown * radius / (radius - 0.002) ** 2, rel=1e-9)
    assert np.abs(bend[:, 2]).max() < 1e-12


def test_flat_plate_bends_as_kirchhoff() -> None:
    """u_z = x^2/2 on a flat plate, director normal to it: curvature -1 for fibres above, no shear."""

    class Flat:
        def at(self, points: Floats) -> SurfacePoints:
            p = len(points)
            return SurfacePoints(np.zeros(p), np.zeros((p, 2)), np.zeros((p, 2, 2)))

    surface = surface_at(Flat(), POINTS)
    x = POINTS[:, 0]
    zero = np.zeros(40)
    motion = np.column_stack([zero, zero, x**2 / 2])
    change = np.zeros((40, 2, 3))
    change[:, 0, 2] = x
    turn = np.column_stack([zero, -x])  # theta_y = -u_z,x makes w = theta x n = (-u_z,x, 0, 0)
    turn_change = np.zeros((40, 2, 2))
    turn_change[:, 0, 1] = -1.0
    middle = Middle(np.full(40, -1e-3), np.zeros((40, 2)), np.full(40, 2e-3), np.array([1.0, 0.0]))
    stretch, bend = _strains(surface, middle, motion, change, turn, turn_change)
    assert bend[:, 0] == pytest.approx(-1.0)
    assert np.abs(bend[:, 1:]).max() < 1e-12
    assert stretch[:, 0] == pytest.approx(
        1e-3
    )  # the middle lies 1 mm below the outer surface that bends upwards
    assert np.abs(stretch[:, 1:]).max() < 1e-12
