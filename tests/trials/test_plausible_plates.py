"""The plausible plates: the same by their number and seed, plates that the program takes, and not all alike."""

import numpy as np
import pytest

from solver.core.units import GRAM, MM
from solver.plate.mass import plate_mass, survey_cells
from tests.trials.plausible_plates import KINDS, plausible_plate, smooth_field

GRAMS = {
    "violin-top": (45, 95),
    "violin-back": (75, 150),
    "viola-top": (60, 150),
    "viola-back": (95, 250),
    "cello-top": (300, 800),
    "cello-back": (450, 1250),
}
"""Masses that no such plate leaves with its usual outline, thicker than finished by a fifth."""


@pytest.mark.parametrize("kind", KINDS)
def test_plates_are_of_their_kind(kind: str) -> None:
    plate = plausible_plate(kind, 3, 0).plate
    low, high = GRAMS[kind]
    assert low < plate_mass(plate) / GRAM < high
    assert (plate.bar is not None) == (len(plate.outline.holes) == 2) == (plate.role == "top")
    assert plate.graduation.at(survey_cells(plate.outline).points).min() > 1.5 * MM


def test_a_plate_is_the_same_whenever_it_is_asked_for_and_another_by_its_number() -> None:
    once, again, other = (plausible_plate("violin-top", 3, number).plate for number in (1, 1, 2))
    assert np.array_equal(once.outline.edge.knots, again.outline.edge.knots)
    assert once.wood == again.wood
    points = survey_cells(once.outline).points
    assert np.array_equal(once.graduation.at(points), again.graduation.at(points))
    assert once.wood != other.wood
    assert not np.array_equal(once.outline.edge.knots, other.outline.edge.knots)


def test_a_field_is_alike_over_its_reach_and_not_beyond() -> None:
    """Over many draws: variance 1, and ``exp(-1/2)`` of it shared over the reach."""
    noise = np.random.default_rng(5)
    fields = [smooth_field(noise, 0.05) for _ in range(400)]
    values = np.array([field.at(np.array([[0.0, 0.0], [0.05, 0.0], [0.25, 0.0]])) for field in fields])
    shared = np.cov(values.T)
    assert np.diag(shared) == pytest.approx(1.0, abs=0.2)
    assert shared[0, 1] == pytest.approx(np.exp(-0.5), abs=0.15)
    assert shared[0, 2] == pytest.approx(0.0, abs=0.15)
