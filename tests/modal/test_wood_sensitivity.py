"""Change of the tones with the wood, against central differences of full solves."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from solver.core.arrays import Floats
from solver.modal.assembly import assemble
from solver.modal.modes import modes_of
from solver.modal.wood_sensitivity import (
    ANGLES,
    STIFFNESSES,
    WoodSensitivity,
    compliance_change,
    wood_sensitivity,
)
from solver.plate.plate import Plate
from solver.plate.species import CONSTANTS, Constant
from solver.plate.wood import Wood
from tests.modal.thinned_plates import MAPLE, SPRUCE, Meshed, arched_with_bar, flat_with_hole

COUNT = 5
STEP = 1e-3
MODULI = [CONSTANTS.index(c) for c in ("EL", "ER", "ET", "GLR", "GLT", "GRT")]
DENSITY = CONSTANTS.index("density")


def sensitivity(meshed: Meshed) -> WoodSensitivity:
    return wood_sensitivity(meshed.model, meshed.modes(COUNT))


def more(wood: Wood, constant: Constant, step: float) -> Wood:
    return replace(wood, **{constant: getattr(wood, constant) * float(np.exp(step))})


def central_difference(meshed: Meshed, before: Plate, after: Plate) -> Floats:
    low, high = (modes_of(assemble(p, meshed.mesh, meshed.cubic), COUNT).hz for p in (before, after))
    return np.asarray(np.log(high / low) / (2 * STEP))


def with_bar_of(meshed: Meshed, wood: Wood) -> Meshed:
    assert meshed.plate.bar is not None
    plate = replace(meshed.plate, bar=replace(meshed.plate.bar, wood=wood))
    return Meshed(plate, meshed.mesh, meshed.cubic, assemble(plate, meshed.mesh, meshed.cubic))


@pytest.fixture(scope="module")
def arched() -> Meshed:
    return arched_with_bar()


@pytest.fixture(scope="module")
def mixed(arched: Meshed) -> Meshed:
    return with_bar_of(arched, replace(SPRUCE, EL=14e9, ring=0.3))


@pytest.mark.slow
def test_wood_with_turned_rings_and_grain() -> None:
    meshed = flat_with_hole()
    by = sensitivity(meshed)
    for constant in CONSTANTS:
        plates = (replace(meshed.plate, wood=more(MAPLE, constant, step)) for step in (-STEP, STEP))
        assert by.by(constant)[:, 0] == pytest.approx(central_difference(meshed, *plates), abs=2e-5)


@pytest.mark.parametrize("constant", ["density", "EL", "ER", "GLR"])
def test_a_bar_of_the_same_wood_follows(arched: Meshed, constant: Constant) -> None:
    def plate(step: float) -> Plate:
        assert arched.plate.bar is not None
        wood = more(SPRUCE, constant, step)
        return replace(arched.plate, wood=wood, bar=replace(arched.plate.bar, wood=wood))

    expected = central_difference(arched, plate(-STEP), plate(STEP))
    assert sensitivity(arched).by(constant)[:, 0] == pytest.approx(expected, abs=2e-5)
    assert not sensitivity(arched).bar.any()


@pytest.mark.parametrize("constant", ["density", "EL", "ET", "GRT", "nu_LR"])
def test_a_bar_of_another_wood_stays(mixed: Meshed, constant: Constant) -> None:
    bar = mixed.plate.bar
    assert bar is not None
    by, at = sensitivity(mixed), CONSTANTS.index(constant)
    plates = (replace(mixed.plate, wood=more(SPRUCE, constant, step)) for step in (-STEP, STEP))
    assert by.plate[:, at] == pytest.approx(central_difference(mixed, *plates), abs=2e-5)
    bars = (
        replace(mixed.plate, bar=replace(bar, wood=more(bar.wood, constant, step))) for step in (-STEP, STEP)
    )
    assert by.bar[:, at] == pytest.approx(central_difference(mixed, *bars), abs=2e-5)


def test_all_moduli_together_move_a_tone_by_half(mixed: Meshed) -> None:
    """Stiffness is linear in all moduli at once and inertia in the density: f goes with the root of both."""
    by = sensitivity(mixed)
    assert by.together[:, MODULI].sum(axis=1) == pytest.approx(0.5, abs=1e-4)
    assert by.together[:, DENSITY] == pytest.approx(-0.5)


@pytest.mark.parametrize("constant", STIFFNESSES)
def test_compliance_change_is_its_derivative(constant: Constant) -> None:
    step = 1e-6
    high, low = (more(MAPLE, constant, s).compliance() for s in (step, -step))
    assert compliance_change(MAPLE, constant) * MAPLE.EL == pytest.approx(
        (high - low) / (2 * step) * MAPLE.EL, abs=1e-8
    )


@pytest.mark.parametrize("make", [flat_with_hole, arched_with_bar])
def test_turning_the_wood_couples_shapes_as_the_matrices_do(make: Callable[[], Meshed]) -> None:
    meshed = make()
    modes = meshed.modes(COUNT)
    shapes = modes.fields.reshape(COUNT, -1)
    turning = wood_sensitivity(meshed.model, modes).turning
    for angle, found in zip(ANGLES, turning, strict=True):
        high, low = (
            assemble(replace(meshed.plate, wood=turned), meshed.mesh, meshed.cubic).stiffness
            for turned in (
                replace(meshed.plate.wood, **{angle: getattr(meshed.plate.wood, angle) + step})
                for step in (STEP, -STEP)
            )
        )
        expected = shapes @ ((high - low) @ shapes.T) / (2 * STEP)
        assert found == pytest.approx(expected, abs=1e-4 * np.abs(expected).max())
