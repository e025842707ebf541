"""A rectangular board: its pure tones, and the thin plate's formulas."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from meshes.arch import flat_arch
from meshes.edge import Edge
from meshes.graduation import uniform_graduation
from meshes.outline import Outline
from solver.advice.board import Board, board_of, constant_of, pure_tones, thin_plate_modulus
from solver.core.errors import InputError
from solver.modal.modes import solve_modes
from solver.plate.plate import Plate
from solver.plate.wood import Wood
from tests.validation.panels import isotropic
from tests.validation.solid_plates import SITKA


def flat_board(length: float, width: float, thickness: float, wood: Wood) -> Plate:
    corners = np.array([*product((0.0, length), (0.0, width))])[[0, 2, 3, 1]]
    outline = Outline(Edge(corners, np.arange(4), "outline"), ())
    return Plate("Board", "panel", outline, flat_arch(), uniform_graduation(thickness), wood)


def test_bending_formula_is_the_free_beams() -> None:
    """The free beam: 2 pi f = 22.3733 sqrt(E I / m l^4), exact; D1 = 0.0789 rho f^2 a^4 / h^2, from memory."""
    board = Board(0.3, 0.02, 3e-3)
    hz = 22.3733 / (2 * np.pi) * np.sqrt(11e9 * 3e-3**2 / (12 * 400)) / 0.3**2
    assert thin_plate_modulus("along", board, 400, hz) == pytest.approx(11e9, rel=1e-4)
    printed = 12 * 0.0789 * 400 * hz**2 * 0.3**4 / 3e-3**2
    assert thin_plate_modulus("along", board, 400, hz) == pytest.approx(printed, rel=1e-3)


def test_twist_formula_is_mcintyre_and_woodhouses() -> None:
    """D4 = 0.274 rho f^2 a^2 b^2 / h^2 with G = 3 D4, from memory."""
    board = Board(0.36, 0.2, 3e-3)
    printed = 3 * 0.274 * 400 * 57.2**2 * (0.36 * 0.2 / 3e-3) ** 2
    assert thin_plate_modulus("twist", board, 400, 57.2) == pytest.approx(printed, rel=2e-3)


def test_pure_tones_of_a_spruce_board_are_found_and_give_its_moduli_nearly() -> None:
    plate = flat_board(0.36, 0.20, 3e-3, SITKA)
    board = board_of(plate, "board")
    modes = solve_modes(plate, 6, size=0.03)
    found = {tone.form: tone for tone in pure_tones(modes)}
    assert [found[form].index for form in ("twist", "across", "along")] == [0, 1, 2]
    moduli = {
        form: thin_plate_modulus(form, board, SITKA.density, float(modes.hz[tone.index]))
        for form, tone in found.items()
    }
    assert moduli["along"] == pytest.approx(SITKA.EL, rel=0.04)
    assert moduli["across"] == pytest.approx(SITKA.ER, rel=0.04)
    # the twist's formula is an upper bound of the tone, so a lower one of the modulus
    assert 0.85 * SITKA.GLR < moduli["twist"] < SITKA.GLR


def test_a_square_of_one_stiffness_either_way_bends_as_no_strip() -> None:
    """Both bendings of an isotropic square mix into a cross and a ring: neither gives a modulus by itself."""
    plate = flat_board(0.2, 0.2, 3e-3, isotropic(10e9, 0.3, 500))
    forms = {tone.form for tone in pure_tones(solve_modes(plate, 4, size=0.04))}
    assert forms == {"twist"}


@pytest.mark.parametrize(
    ("grain", "ring", "names"),
    [
        (0, 0, ("GLR", "EL", "ER")),
        (180, 3, ("GLR", "EL", "ER")),
        (90, 0, ("GLR", "ER", "EL")),
        (-90, 90, ("GLT", "ET", "EL")),
        (0, 90, ("GLT", "EL", "ET")),
        (20, 0, (None, None, None)),
        (0, 45, (None, None, None)),
    ],
)
def test_the_cut_names_the_constants(grain: float, ring: float, names: tuple[str | None, ...]) -> None:
    wood = replace(SITKA, grain=np.radians(grain), ring=np.radians(ring))
    assert tuple(constant_of(form, wood) for form in ("twist", "along", "across")) == names


def test_a_triangle_is_no_board() -> None:
    plate = flat_board(0.36, 0.20, 3e-3, SITKA)
    corners = Edge(plate.outline.edge.knots[:3], np.arange(3), "outline")
    with pytest.raises(InputError, match="its outline is no rectangle"):
        board_of(replace(plate, outline=Outline(corners, ())), "board")
