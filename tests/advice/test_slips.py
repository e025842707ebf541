"""Slips of the pen that explain a figure, each with what to write instead."""

import pytest

from solver.advice.slips import slip_in_mass, slip_in_tone, slip_of_point


@pytest.mark.parametrize(
    ("hz", "low", "high", "cure"),
    [
        (34, 331, 352, "34_"),
        (35, 331, 352, "35_"),
        (34.2, 331, 352, "point slipped, write 342"),
        (3420, 331, 352, "write 342"),
        (324, 338, 352, "write 342"),
        (171, 331, 352, "octave below, write 342"),
        (684, 331, 352, "octave above, write 342"),
    ],
)
def test_known_slips_in_a_tone(hz: float, low: float, high: float, cure: str) -> None:
    assert cure in slip_in_tone(hz, low, high)


def test_a_tone_that_no_slip_explains() -> None:
    assert slip_in_tone(290.0, 331, 352) == ""


def test_a_point_slips_only_where_one_was_written() -> None:
    assert "write 138." in slip_of_point(13.8, 130, 145)
    assert slip_of_point(14, 130, 145) == ""
    assert slip_of_point(13.8, 150, 160) == ""


@pytest.mark.parametrize(
    ("grams", "cure"),
    [(2.5, "ounces, write 70.87"), (0.0709, "kilograms, write 70.9"), (0.156, "pounds, write 70.76")],
)
def test_units_of_mass(grams: float, cure: str) -> None:
    assert cure in slip_in_mass(grams, 66.0, 76.0)


def test_a_mass_that_no_unit_explains() -> None:
    assert slip_in_mass(50.0, 66.0, 76.0) == ""
