"""Places on the stock violin top and on a panel, named as anybody at the bench would (common practice, no source)."""

from pathlib import Path

import numpy as np
import pytest

from solver.advice.places_in_words import PlaceWords
from solver.plate_folder.read import read_plate
from solver.viewer.thinning_map import place_words
from tests.plate_folders import panel_files, write_folder

CASES = Path(__file__).parents[2] / "cases"


@pytest.fixture(scope="module")
def top() -> PlaceWords:
    return place_words(read_plate(CASES / "violin-top-finished"))


@pytest.mark.parametrize(
    ("x", "y", "words"),
    [
        (70, 60, "lower bout, bass side"),
        (70, -60, "lower bout, treble side"),
        (70, 100, "lower bout, bass side, in the channel"),
        (160, 0, "waist, on the centre line, between the holes"),
        (210, 0, "waist, on the centre line"),
        (290, -40, "upper bout, treble side"),
        (345, 0, "neck end, on the centre line"),
        (20, 0, "tail end, on the centre line"),
        (126, 60, "lower bout, bass side, beside the hole"),
    ],
)
def test_places_on_a_violin_top(top: PlaceWords, x: float, y: float, words: str) -> None:
    assert top.at(np.array([x, y]) / 1e3) == words


def test_the_sides_of_a_back_are_exchanged() -> None:
    back = place_words(read_plate(CASES / "violin-back-walnut"))
    assert back.at(np.array([0.07, 0.06])) == "lower bout, treble side"


def test_a_panel_has_thirds_and_no_channel(tmp_path: Path) -> None:
    panel = place_words(read_plate(write_folder(tmp_path / "panel", panel_files())))
    assert panel.at(np.array([0.15, 0.03])) == "middle third, left"
    assert panel.at(np.array([0.19, -0.059])) == "middle third, right, at the edge"
    assert panel.at(np.array([0.29, 0.03])) == "upper end, left"
