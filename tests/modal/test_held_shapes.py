"""Quotients of held shapes: those of the modes themselves, and their change against full solves."""

from dataclasses import replace

import numpy as np
import pytest

from solver.modal.assembly import assemble
from solver.modal.held_shapes import held_quotients, held_slopes
from solver.modal.modes import modes_of
from solver.plate.reshaped_arch import ArchForm, with_arch_form
from tests.modal.thinned_plates import Meshed, arched_with_bar

COUNT = 5


@pytest.fixture(scope="module")
def arched() -> Meshed:
    return arched_with_bar()


def test_on_the_plate_itself_they_are_its_eigenvalues(arched: Meshed) -> None:
    modes = arched.modes(COUNT)
    quotients = held_quotients(arched.plate, arched.mesh, arched.cubic, modes)
    assert np.sqrt(quotients) / (2 * np.pi) == pytest.approx(modes.hz, rel=1e-5)


@pytest.mark.parametrize("way", ["rise", "across", "along"])
def test_their_change_is_that_of_the_tones(arched: Meshed, way: str) -> None:
    """An arch is so stiff in its own surface that the quotient bends within a thousandth: the step is a millionth."""
    step, wide = 1e-6, 0.01
    modes = arched.modes(COUNT)
    here, there = (
        held_quotients(with_arch_form(arched.plate, ArchForm(**{way: s})), arched.mesh, arched.cubic, modes)
        for s in (0.0, step)
    )
    low, high = (
        modes_of(
            assemble(with_arch_form(arched.plate, ArchForm(**{way: s})), arched.mesh, arched.cubic), COUNT
        ).hz
        for s in (-wide, wide)
    )
    slope = np.log(there / here) / (2 * step)
    assert slope == pytest.approx(np.log(high / low) / (2 * wide), abs=2e-3)


def test_slopes_are_those_of_the_quotients(arched: Meshed) -> None:
    """The inertia's part is summed at fewer points, which a thousandth of the slope does not show."""
    step, modes = 1e-6, arched.modes(COUNT)
    fuller = with_arch_form(arched.plate, ArchForm(across=step))
    dense = replace(
        arched.plate, wood=replace(arched.plate.wood, density=arched.plate.wood.density * np.exp(step))
    )
    slopes = held_slopes(arched.plate, [(fuller, step), (dense, step)], arched.mesh, arched.cubic, modes)
    here, *there = (
        held_quotients(one, arched.mesh, arched.cubic, modes) for one in (arched.plate, fuller, dense)
    )
    by_quotient = np.log(np.array(there) / here).T / (2 * step)
    assert slopes == pytest.approx(by_quotient, abs=1e-3)
