"""First-order change by thinning, against central differences of full solves."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from meshes.removal import Hollow
from solver.core.arrays import Floats
from solver.core.units import GRAM
from solver.modal.sensitivity import SHAVING, Sensitivity, thinning_sensitivity
from solver.plate_folder.read import read_plate
from tests.modal.thinned_plates import BAR, Meshed, arched_with_bar, flat_with_hole, meshed_plate

COUNT = 6
CASES = Path(__file__).parents[2] / "cases"
DEPTH = 0.05e-3
OF_CHANGE, OF_FREQUENCY = 0.01, 2e-4
"""What the maker is promised: within 1 % of the change, or 0.02 % of the frequency where the change is smaller."""


@pytest.fixture(scope="module", params=[arched_with_bar, flat_with_hole], ids=["arched", "flat"])
def case(request: pytest.FixtureRequest) -> tuple[Meshed, Sensitivity]:
    make: Callable[[], Meshed] = request.param
    meshed = make()
    return meshed, thinning_sensitivity(meshed.model, meshed.modes(COUNT))


def check_change(meshed: Meshed, sensitivity: Sensitivity, hollow: Hollow) -> None:
    """Compare with central differences of the full solve."""
    after = meshed.after(hollow, COUNT)
    before = meshed.after(Hollow(hollow.centre, hollow.radius, -hollow.depth), COUNT)
    change = (after.hz - before.hz) / 2
    error = np.abs(sensitivity.hz_change(hollow) - change)
    assert np.all(error < np.maximum(OF_CHANGE * np.abs(change), OF_FREQUENCY * after.hz))
    assert np.all(error < 0.01 * np.abs(change).max())  # the promise alone would pass a wrong small hollow
    assert sensitivity.mass_change(hollow) == pytest.approx((after.mass - before.mass) / 2, rel=5e-3)


def hollows(places: Floats, count: int) -> list[Hollow]:
    rng = np.random.default_rng(6)
    return [Hollow(places[rng.integers(len(places))], rng.uniform(0.02, 0.035), DEPTH) for _ in range(count)]


def test_change_equals_the_central_difference(case: tuple[Meshed, Sensitivity]) -> None:
    meshed, sensitivity = case
    for hollow in hollows(sensitivity.places, 3):
        check_change(meshed, sensitivity, hollow)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["violin-top-finished", "violin-back-walnut", "viola-top"])
def test_demonstration_plates(name: str) -> None:
    """Ten random spots on each, all of which the maker may ask for."""
    meshed = meshed_plate(read_plate(CASES / name))
    sensitivity = thinning_sensitivity(meshed.model, meshed.modes(COUNT))
    for hollow in hollows(sensitivity.places, 10):
        check_change(meshed, sensitivity, hollow)


@pytest.mark.parametrize("case", [arched_with_bar], ids=["arched"], indirect=True)
def test_slope_matters(case: tuple[Meshed, Sensitivity]) -> None:
    """Arched, the middle surface tilts against the grain; without that, changes are wrong by several per cent."""
    _, sensitivity = case
    hollow = hollows(sensitivity.places, 1)[0]
    by_depth = sensitivity.by_depth @ (sensitivity.areas * hollow.at(sensitivity.places))
    total = sensitivity.hz_change(hollow)
    assert np.abs(by_depth / total - 1).max() > 0.02


def test_maps_hold_the_same_as_the_densities(case: tuple[Meshed, Sensitivity]) -> None:
    """The corners' hats add up to one, so the map's integral is the effect of 0.1 mm over the whole plate."""
    meshed, sensitivity = case
    whole = sensitivity.by_depth @ sensitivity.areas * SHAVING
    cubic = meshed.cubic
    outside = ~meshed.mesh.in_bar
    weights = cubic.stiffness.weights[outside]
    maps = np.einsum("qn,ktn->ktq", cubic.stiffness.values, sensitivity.hz_map[:, cubic.elements[outside]])
    assert np.einsum("ktq,tq->k", maps, weights) == pytest.approx(whole, rel=0.02)
    grams = meshed.plate.wood.density * SHAVING / GRAM
    assert -sensitivity.gram_map[cubic.elements[outside]] == pytest.approx(grams, rel=0.15)


@pytest.mark.parametrize("case", [arched_with_bar], ids=["arched"], indirect=True)
def test_nothing_under_the_bar(case: tuple[Meshed, Sensitivity]) -> None:
    """No place to be thinned lies in the strip, and a hollow there changes nothing but what lies beside it."""
    meshed, sensitivity = case
    across = np.abs((sensitivity.places - BAR.start) @ np.array([-BAR.direction[1], BAR.direction[0]]))
    along = (sensitivity.places - BAR.start) @ BAR.direction
    assert not np.any((across < BAR.width / 2) & (along > 0) & (along < BAR.length))
    narrow = Hollow(0.5 * (BAR.start + BAR.end), 0.4 * BAR.width, 0.1e-3)
    assert meshed.after(narrow, COUNT).hz == pytest.approx(meshed.modes(COUNT).hz, rel=1e-9)
    assert sensitivity.hz_change(narrow) == pytest.approx(0.0, abs=1e-12)
