"""The whole route from plate to modes: nothing missed, nothing doubled, names and masses right."""

from dataclasses import replace

import numpy as np
import pytest

from meshes.arch import Arch, arch_from_function, flat_arch
from meshes.edge import Edge, edge_through
from meshes.graduation import Graduation, graduation_from_function, uniform_graduation
from meshes.outline import make_outline
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.modal.modes import Modes, solve_modes
from solver.plate.bar import Bar
from solver.plate.plate import Plate
from solver.plate.wood import Wood

SPRUCE = Wood(420, 12e9, 0.85e9, 0.48e9, 0.72e9, 0.70e9, 0.036e9, 0.38, 0.44, 0.50)
STEEL = Wood(7850, 2e11, 2e11, 2e11, 2e11 / 2.6, 2e11 / 2.6, 2e11 / 2.6, 0.3, 0.3, 0.3)
A, B = 0.178, 0.080
BOUNDS = (-0.19, -0.09, 0.19, 0.09)


def _ellipse(a: float = A, b: float = B, n: int = 300) -> Edge:
    t = 2 * np.pi * np.arange(n) / n
    return edge_through(np.column_stack([a * np.cos(t), b * np.sin(t)]), "outline")


def _inside(points: Floats) -> Floats:
    return np.asarray(1 - (points[:, 0] / A) ** 2 - (points[:, 1] / B) ** 2)


def _dome() -> Arch:
    return arch_from_function(lambda p: 0.020 * _inside(p) ** 2, BOUNDS)


def _plate(arch: Arch, graduation: Graduation, wood: Wood, edge: Edge | None = None) -> Plate:
    return Plate("a plate", "panel", make_outline(edge or _ellipse()), arch, graduation, wood)


BAR = Bar(
    np.array([-0.105, 0.0185]),
    np.array([0.095, 0.0125]),
    5.5e-3,
    np.array([[0.0, 2.5e-3], [0.5, 12e-3], [1.0, 2.5e-3]]),
    SPRUCE,
)


@pytest.fixture(scope="module")
def arched() -> Modes:
    plate = _plate(_dome(), graduation_from_function(lambda p: 2.5e-3 + 1e-3 * _inside(p), BOUNDS), SPRUCE)
    return solve_modes(plate, 12)


def test_disc_has_every_pair_twice() -> None:
    """A free disc: the modes with diameters come in pairs, the others alone (lambda as in the validation tests)."""
    hz = solve_modes(_plate(flat_arch(), uniform_graduation(1e-3), STEEL, _ellipse(0.1, 0.1)), 11).hz
    alone = [i for i, f in enumerate(hz) if np.sum(np.abs(hz / f - 1) < 1e-3) == 1]
    assert alone == [2]
    assert hz[[0, 3, 5, 7, 9]] == pytest.approx(hz[[1, 4, 6, 8, 10]], rel=1e-4)


def test_nearly_round_plate_has_every_mode_of_the_round_one() -> None:
    """An outline one in two thousand out of round parts every pair a little and loses none."""
    disc = solve_modes(_plate(flat_arch(), uniform_graduation(1e-3), STEEL, _ellipse(0.1, 0.1)), 8).hz
    near = solve_modes(_plate(flat_arch(), uniform_graduation(1e-3), STEEL, _ellipse(0.10005, 0.1)), 8).hz
    assert near == pytest.approx(disc, rel=2e-3)


def test_square_plate_of_no_poisson_ratio_is_two_beams() -> None:
    """nu = 0: bending along and across are the free beam's, 4.73004^2 each, and coincide (exact)."""
    soft = Wood(7850, 2e11, 2e11, 2e11, 1e11, 1e11, 1e11, 0.0, 0.0, 0.0)
    corners = 0.1 * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    plate = _plate(flat_arch(), uniform_graduation(1e-3), soft, edge_through(corners, "outline", range(4)))
    hz = solve_modes(plate, 4).hz
    beam = 4.73004**2 / (2 * np.pi * 0.04) * np.sqrt(2e11 * 1e-6 / 12 / 7850)
    assert np.sum(np.abs(hz / beam - 1) < 2e-3) == 2


def test_shapes_are_mass_normal_and_frequencies_ascend(arched: Modes) -> None:
    assert np.all(np.diff(arched.hz) > 0)
    assert arched.fields.shape == (12, arched.unknowns // 5, 5)
    assert np.isfinite(arched.fields).all()


def test_triangles_face_outward(arched: Modes) -> None:
    a, b, c = (arched.points[arched.triangles[:, k], :2] for k in range(3))
    assert ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0] > 0).all()


def test_more_modes_begin_with_the_same(arched: Modes) -> None:
    plate = _plate(_dome(), graduation_from_function(lambda p: 2.5e-3 + 1e-3 * _inside(p), BOUNDS), SPRUCE)
    assert solve_modes(plate, 3).hz == pytest.approx(arched.hz[:3], rel=1e-7)


def test_rigid_residuals_are_far_below_the_first_mode(arched: Modes) -> None:
    assert arched.rigid_hz.shape == (6,)
    assert arched.rigid_hz.max() < 0.005 * arched.hz[0]


def test_mass_is_density_times_volume_of_a_flat_plate() -> None:
    modes = solve_modes(_plate(flat_arch(), uniform_graduation(3e-3), SPRUCE), 1)
    assert modes.mass == pytest.approx(420 * 3e-3 * np.pi * A * B, rel=5e-4)


def test_mass_of_the_bar_counts() -> None:
    flat = _plate(flat_arch(), uniform_graduation(3e-3), SPRUCE)
    with_bar = solve_modes(replace(flat, bar=BAR), 1).mass
    s = np.linspace(0, 1, 4001)
    height = BAR.height_at(BAR.start + s[:, None] * (BAR.end - BAR.start))
    expected = 420 * 5.5e-3 * BAR.length * np.mean(0.5 * (height[1:] + height[:-1]))
    assert with_bar - solve_modes(flat, 1).mass == pytest.approx(expected, rel=2e-3)


def test_turning_the_plate_with_its_grain_changes_nothing() -> None:
    """An isotropic rectangle along y sounds as the same one along x."""
    hz = []
    for a, b in ((0.15, 0.1), (0.1, 0.15)):
        corners = np.array([[-a, -b], [a, -b], [a, b], [-a, b]])
        edge = edge_through(corners, "outline", range(4))
        hz.append(solve_modes(_plate(flat_arch(), uniform_graduation(2e-3), STEEL, edge), 6).hz)
    assert hz[0] == pytest.approx(hz[1], rel=2e-4)


def test_slab_cut_swaps_r_and_t() -> None:
    """Rings turned by 90 degrees are the same as R and T exchanged (and nu RT with nu TR)."""
    slab = replace(SPRUCE, ring=np.pi / 2)
    nu_TR = SPRUCE.nu_RT * SPRUCE.ET / SPRUCE.ER
    swapped = Wood(420, 12e9, 0.48e9, 0.85e9, 0.70e9, 0.72e9, 0.036e9, 0.44, 0.38, nu_TR)
    hz = [solve_modes(_plate(_dome(), uniform_graduation(3e-3), w), 5).hz for w in (slab, swapped)]
    assert hz[0] == pytest.approx(hz[1], rel=1e-8)


@pytest.mark.parametrize("count", [0, 41])
def test_too_few_or_too_many_modes_are_refused(count: int) -> None:
    with pytest.raises(InputError, match="expected 1 to 40"):
        solve_modes(_plate(flat_arch(), uniform_graduation(3e-3), SPRUCE), count)
