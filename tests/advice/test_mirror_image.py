"""Which plates a maker means to be the same on both sides."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from meshes.graduation import graduation_from_function
from meshes.outline import make_outline
from solver.advice.mirror_image import sides_are_alike
from solver.plate.mass import survey_cells
from solver.plate.plate import Plate
from solver.plate_folder.read import read_plate
from tests.viewer.plain_plate import A, B, ellipse, plain_plate

CASES = Path(__file__).parents[2] / "cases"
BOUNDS = (-1.2 * A, -1.2 * B, 1.2 * A, 1.2 * B)


def alike(plate: Plate) -> bool:
    return sides_are_alike(plate, survey_cells(plate.outline))


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("violin-back-walnut", True),  # readings that scatter
        ("violin-top-before-holes", True),
        ("violin-top-finished", False),  # it has a bar
    ],
)
def test_demonstration_plates(name: str, expected: bool) -> None:
    assert alike(read_plate(CASES / name)) == expected


@pytest.mark.parametrize(("difference_mm", "expected"), [(0.05, True), (0.3, False)])
def test_a_side_thicker_than_the_other(difference_mm: float, expected: bool) -> None:
    graduation = graduation_from_function(
        lambda p: 2.8e-3 + 0.5e-3 * difference_mm * np.sign(p[:, 1]), BOUNDS, 2e-3
    )
    assert alike(replace(plain_plate(), bar=None, graduation=graduation)) == expected


def test_an_outline_that_is_not_its_own_image() -> None:
    shifted = make_outline(ellipse((0.0, 0.01), (A, B), "outline"))
    assert not alike(replace(plain_plate(), bar=None, outline=shifted))
