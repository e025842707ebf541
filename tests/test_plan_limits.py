"""Limits by zones, in the words of the bench, and what cannot be meant."""

from pathlib import Path

import numpy as np
import pytest

from solver.commands.plan_limits import read_limits, usual_removal_mm
from solver.commands.plan_request import PlanRequest
from solver.core.errors import InputError
from solver.plate.plate import Plate
from solver.plate_folder.read import read_plate
from solver.plate_folder.schema import WantedTable
from solver.stock import write_stock_plate
from tests.plate_folders import panel_files, write_folder

CASES = Path(__file__).parents[1] / "cases"
BETWEEN, LOWER, UPPER, CHANNEL = (160, 0), (70, 60), (290, -40), (70, 100)


@pytest.fixture(scope="module")
def top() -> Plate:
    return read_plate(CASES / "violin-top-finished")


def least_mm(plate: Plate, least: tuple[str, ...], *places: tuple[float, float]) -> list[float]:
    table = WantedTable(min_thickness_mm=2.1)
    limits = read_limits(PlanRequest(least=least), table, plate)
    return [round(1e3 * t, 3) for t in limits.least.at(np.array(places) / 1e3)]


def test_one_figure_holds_everywhere(top: Plate) -> None:
    assert least_mm(top, ("2.3",), BETWEEN, LOWER, CHANNEL) == [2.3, 2.3, 2.3]
    assert least_mm(top, (), BETWEEN, LOWER) == [2.1, 2.1]


def test_the_usual_deepest_cut_goes_with_the_thickness(top: Plate, tmp_path: Path) -> None:
    write_stock_plate(tmp_path / "cello", "cello-top")
    cello = read_plate(tmp_path / "cello")
    deep = {plate: read_limits(PlanRequest(least=("2",)), None, plate).max_removal for plate in (top, cello)}
    assert [round(1e3 * depth, 6) for depth in deep.values()] == [0.6, 1.0]  # a quarter of 2.6 and 4.3 mm
    assert usual_removal_mm(cello) == 1.0


def test_a_zone_has_its_own_limit_above_or_below_the_rest(top: Plate) -> None:
    least = ("between the holes=2.8", "Channel = 1.9", "2.2")
    assert least_mm(top, least, BETWEEN, CHANNEL, LOWER) == [2.8, 1.9, 2.2]
    assert least_mm(top, ("upper bout=2.4",), UPPER, LOWER) == [2.4, 2.1]  # plate.toml's elsewhere


def test_words_together_are_what_lies_in_all_of_them(top: Plate) -> None:
    mirrored = (LOWER[0], -LOWER[1])
    assert least_mm(top, ("lower bout, bass side=2.6",), LOWER, mirrored, UPPER) == [2.6, 2.1, 2.1]


def test_the_greatest_holds_where_zones_overlap(top: Plate) -> None:
    for least in (("lower bout=2.6", "in the channel=2.3"), ("in the channel=2.3", "lower bout=2.6")):
        assert least_mm(top, least, CHANNEL, LOWER) == [2.6, 2.6]


def test_a_panel_has_zones_too(tmp_path: Path) -> None:
    panel = read_plate(write_folder(tmp_path / "panel", panel_files()))
    assert least_mm(panel, ("edge=2.5", "middle third=2.3"), (150, 30), (190, -59), (80, 30)) == [
        2.3,
        2.5,
        2.1,
    ]


@pytest.mark.parametrize(
    ("least", "said"),
    [
        (("betwixt=3",), "no zone called 'betwixt'; expected one of tail end, lower bout"),
        (("lower bout, f-hole=3",), "no zone called 'lower bout, f-hole'"),
        (("waist=thick",), "expected mm, a zone and mm"),
        (("waist=0.2",), "expected 0.5 to 40"),
        (("2.2", "2.4"), "2.2 and 2.4 are both for the whole plate"),
        (("map.csv", "waist=2.4"), "stands beside others"),
    ],
)
def test_what_cannot_be_meant(top: Plate, least: tuple[str, ...], said: str) -> None:
    with pytest.raises(InputError, match=said):
        least_mm(top, least, LOWER)
