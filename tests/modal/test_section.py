"""The turned wood against closed forms."""

import numpy as np
import pytest

from solver.modal.section import Part, Stiffness, part_stiffness, turned_compliance
from solver.plate.wood import Wood

SPRUCE = Wood(420, 12e9, 0.85e9, 0.48e9, 0.72e9, 0.70e9, 0.036e9, 0.38, 0.44, 0.50)
FLAT = np.eye(3)[None]


def _of(part: Part) -> Stiffness:
    return part_stiffness(part, SPRUCE, FLAT, np.zeros(1))


def _turned(angle: float, axis: int) -> np.ndarray:
    c, s = np.cos(angle), np.sin(angle)
    i, j = [k for k in range(3) if k != axis]
    frame = np.eye(3)
    frame[i, i] = frame[j, j] = c
    frame[i, j], frame[j, i] = s, -s
    return frame[None]


def test_flat_bending_is_the_orthotropic_plate() -> None:
    """D11/(h^3/12) = EL/(1 - nuLR nuRL), D66/(h^3/12) = GLR (S. G. Lekhnitskii, Anisotropic Plates, 1968)."""
    bend = _of(Part.PLATE).bend[0]
    nu_RL = SPRUCE.nu_LR * SPRUCE.ER / SPRUCE.EL
    assert bend[0, 0] == pytest.approx(SPRUCE.EL / (1 - SPRUCE.nu_LR * nu_RL))
    assert bend[1, 1] == pytest.approx(SPRUCE.ER / (1 - SPRUCE.nu_LR * nu_RL))
    assert bend[2, 2] == pytest.approx(SPRUCE.GLR)


def test_flat_shear_is_five_sixths() -> None:
    stretch = _of(Part.PLATE).stretch[0]
    assert stretch[4, 4] == pytest.approx(5 / 6 * SPRUCE.GLT)
    assert stretch[3, 3] == pytest.approx(5 / 6 * SPRUCE.GRT)


def test_young_modulus_at_an_angle_to_the_grain() -> None:
    """1/E = c^4/EL + s^4/ET + c^2 s^2 (1/GLT - 2 nuLT/EL) in the L-T plane (the same source)."""
    a = np.radians(17.0)
    s = turned_compliance(SPRUCE, _turned(a, axis=1))[0]
    c2, s2 = np.cos(a) ** 2, np.sin(a) ** 2
    expected = (
        c2**2 / SPRUCE.EL + s2**2 / SPRUCE.ET + c2 * s2 * (1 / SPRUCE.GLT - 2 * SPRUCE.nu_LT / SPRUCE.EL)
    )
    assert s[0, 0] == pytest.approx(expected)


def test_turning_there_and_back_changes_nothing() -> None:
    there = _turned(0.4, 0) @ _turned(-0.3, 1) @ _turned(1.1, 2)
    s = turned_compliance(SPRUCE, there)[0]
    trace = s[:3, :3].trace() + 2 * s[:3, :3][np.triu_indices(3, 1)].sum()
    flat = SPRUCE.compliance()
    # the sum of the nine normal compliances is an invariant: the volume change under pressure
    assert trace == pytest.approx(flat[:3, :3].sum())


def test_low_bar_has_only_beam_stresses() -> None:
    bar = _of(Part.BAR)
    assert bar.stretch[0][0, 0] == pytest.approx(SPRUCE.EL)
    assert bar.bend[0][0, 0] == pytest.approx(SPRUCE.EL)
    assert bar.bend[0][2, 2] == pytest.approx(SPRUCE.GLR)
    assert np.count_nonzero(np.abs(bar.stretch[0]) > 1.0) == 2


def test_bar_within_its_root_is_a_thick_place_of_the_plate() -> None:
    parts = [_of(part) for part in (Part.BAR, Part.ROOT_ACROSS, Part.ROOT_IN_SHEAR)]
    plate = _of(Part.PLATE)
    assert sum(p.stretch for p in parts) == pytest.approx(plate.stretch, rel=1e-9, abs=1.0)
    assert sum(p.bend for p in parts) == pytest.approx(plate.bend, rel=1e-9, abs=1.0)


@pytest.mark.parametrize("part", list(Part))
def test_no_part_gives_energy_away(part: Part) -> None:
    frame = _turned(0.4, 0) @ _turned(-0.3, 1)
    stiffness = part_stiffness(part, SPRUCE, frame, np.array([2.0]))
    for matrix in (stiffness.stretch[0], stiffness.bend[0]):
        assert np.linalg.eigvalsh(matrix).min() > -1e-6 * np.abs(matrix).max(initial=1.0)
