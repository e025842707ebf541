"""Elastic constants as a solid has them: symmetric, turned with the board, checked against closed forms."""

from dataclasses import replace

import numpy as np
import pytest

from solver.core.arrays import Floats
from solver.plate.species import find_species, wood_of
from solver.plate.wood import Wood

SITKA = wood_of(find_species("Sitka spruce", "test"), {}, "test")


def strain_energy(wood: Wood, stress: Floats) -> float:
    """Energy [J/m3] of a stress (3, 3) [Pa] given in plate coordinates, by turning it into L, R, T."""
    axes = wood.axes()
    s = axes @ stress @ axes.T
    vector = np.array([s[0, 0], s[1, 1], s[2, 2], s[1, 2], s[0, 2], s[0, 1]])
    return float(vector @ wood.compliance() @ vector / 2)


def pulled(direction: Floats) -> Floats:
    return np.outer(direction, direction) * 1e6


@pytest.mark.parametrize("degrees", [0, 17, 45, 90])
def test_stiffness_at_an_angle_to_the_grain_is_the_closed_form(degrees: float) -> None:
    # 1/E(a) = c^4/EL + s^4/ER + (1/GLR - 2 nuLR/EL) c^2 s^2: Hearmon, Applied Anisotropic Elasticity (1961),
    # from memory.
    a = np.radians(degrees)
    c, s = np.cos(a), np.sin(a)
    w = SITKA
    closed = c**4 / w.EL + s**4 / w.ER + (1 / w.GLR - 2 * w.nu_LR / w.EL) * c**2 * s**2
    board = replace(SITKA, grain=a)
    assert 2 * strain_energy(board, pulled(np.array([1.0, 0, 0]))) / 1e12 == pytest.approx(closed, rel=1e-12)


def test_grain_turns_towards_positive_y_and_rings_towards_outward() -> None:
    np.testing.assert_allclose(replace(SITKA, grain=np.pi / 2).axes()[0], [0, 1, 0], atol=1e-12)
    np.testing.assert_allclose(replace(SITKA, ring=np.pi / 2).axes()[1], [0, 0, 1], atol=1e-12)


def test_slab_cut_wood_is_tangential_across() -> None:
    slab = replace(SITKA, ring=np.pi / 2)
    assert 2 * strain_energy(slab, pulled(np.array([0, 1.0, 0]))) / 1e12 == pytest.approx(1 / SITKA.ET)


@pytest.mark.parametrize(("grain", "ring"), [(0.0, 0.0), (0.1, 0.3), (-0.7, 1.2)])
def test_axes_are_a_right_handed_frame(grain: float, ring: float) -> None:
    axes = replace(SITKA, grain=grain, ring=ring).axes()
    np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-12)
    assert np.linalg.det(axes) == pytest.approx(1.0)


def test_turning_keeps_the_energy_of_an_even_pressure() -> None:
    pressure = -1e6 * np.eye(3)
    assert strain_energy(replace(SITKA, grain=0.4, ring=0.9), pressure) == pytest.approx(
        strain_energy(SITKA, pressure)
    )


def test_stable_means_that_no_stress_gives_energy_away() -> None:
    rng = np.random.default_rng(5)
    stresses = rng.normal(size=(200, 3, 3))
    assert SITKA.is_stable()
    assert min(strain_energy(SITKA, s + s.T) for s in stresses) > 0
    # Isotropic with nu above one half: pressed evenly, it would swell.
    swelling = Wood(400, 1e10, 1e10, 1e10, 1e10 / 3.2, 1e10 / 3.2, 1e10 / 3.2, 0.6, 0.6, 0.6)
    assert not swelling.is_stable()
    assert strain_energy(swelling, -np.eye(3)) < 0
