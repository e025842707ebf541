"""The shell against 3-D solids by CalculiX on the same plates: another program, another element, no shell theory."""

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from solver.core.arrays import Floats
from solver.modal.modes import Modes, solve_modes
from solver.plate_folder.read import read_plate
from tests.validation.make_references import LIVE, STORE, Reference, divisions, solve
from tests.validation.shell_plate import as_plate, write_folder
from tests.validation.solid import ccx
from tests.validation.solid_plates import ELLIPSE, PLATES

WITHIN, WITHIN_WITH_BAR = 0.005, 0.01
MODES = 8

STORED: dict[str, Reference] = json.loads(STORE.read_text())


def solid_hz(name: str) -> Floats:
    """The stored frequencies of the finer division [Hz]."""
    return np.array(STORED[name]["runs"][-1]["hz"])[:MODES]


@cache
def shell(name: str) -> Modes:
    return solve_modes(as_plate(PLATES[name]), MODES)


def tolerance(name: str) -> float:
    return WITHIN if PLATES[name].bar is None else WITHIN_WITH_BAR


def test_every_reference_plate_is_stored() -> None:
    assert set(STORED) == set(PLATES)


@pytest.mark.parametrize("name", PLATES)
def test_stored_solids_are_converged(name: str) -> None:
    """What the references themselves are judged to be off by is small beside what they are to show."""
    assert max(STORED[name]["error_pct"][:MODES]) < 100 * tolerance(name) / 2.5


@pytest.mark.parametrize("name", PLATES)
def test_first_eight_modes(name: str) -> None:
    assert shell(name).hz == pytest.approx(solid_hz(name), rel=tolerance(name))


@pytest.mark.parametrize("name", ["ellipse", "ellipse-bar", "violin-top", "violin-back"])
def test_first_eight_modes_from_a_folder(name: str, tmp_path: Path) -> None:
    """The whole way from files: points of the edge, heights and readings every 5 mm, constants in GPa."""
    write_folder(PLATES[name], tmp_path / name)
    modes = solve_modes(read_plate(tmp_path / name), MODES)
    assert modes.hz == pytest.approx(solid_hz(name), rel=tolerance(name))


def test_error_falls_with_the_size_of_the_elements() -> None:
    """Cubic elements: the order measured over three meshes is 4 or better, 6 being the best on a thin smooth plate.

    The size is the mean one, as the root of one over the unknowns: elements are smaller where the edge turns.
    """
    plate = as_plate(ELLIPSE)
    finest = solve_modes(plate, MODES, 0.012).hz
    coarse = [solve_modes(plate, MODES, size) for size in (0.056, 0.036, 0.022)]
    errors = [np.mean(modes.hz / finest - 1) for modes in coarse]
    order = -2 * np.polyfit(np.log([modes.unknowns for modes in coarse]), np.log(errors), 1)[0]
    assert order > 4


needs_calculix = pytest.mark.skipif(
    not ccx.installed(), reason="CalculiX is not installed: its program ccx is not on the path"
)


@pytest.mark.calculix
@needs_calculix
def test_solids_solved_here_and_now() -> None:
    """CalculiX itself, on a quick division: as when it was stored, and the shell agrees with it."""
    hz = np.array(solve(ELLIPSE, LIVE)["hz"])
    assert hz == pytest.approx(np.array(STORED["ellipse"]["runs"][0]["hz"]), rel=2.5e-3)
    assert shell("ellipse").hz == pytest.approx(hz[:MODES], rel=WITHIN)


@pytest.mark.slow
@pytest.mark.calculix
@needs_calculix
@pytest.mark.parametrize("name", ["ellipse-bar-low", "violin-top", "violin-back", "spruce-panel"])
def test_the_script_makes_what_is_stored(name: str) -> None:
    """The coarser division of the stored solids, solved again, and the shell beside it."""
    hz = np.array(solve(PLATES[name], divisions(PLATES[name])[0])["hz"])
    assert hz == pytest.approx(np.array(STORED[name]["runs"][0]["hz"]), rel=2.5e-3)
    assert shell(name).hz == pytest.approx(hz[:MODES], rel=0.01)
