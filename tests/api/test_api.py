"""What `import platewright` gives is what the commands answer, and shows itself in a notebook."""

import json
from pathlib import Path

import numpy as np
import pytest

import platewright
from solver.core.version import VERSION
from solver.plate.wood_posterior import FITTED
from tests.command_answers import answer_of
from tests.plate_folders import panel_files, write_folder

CASES = Path(__file__).parents[2] / "cases"
TOP = CASES / "violin-top-finished"


@pytest.fixture
def panel(tmp_path: Path) -> platewright.Plate:
    return platewright.read_plate(write_folder(tmp_path / "panel", panel_files()))


def test_modes_are_those_of_the_command(panel: platewright.Plate, capsys: pytest.CaptureFixture[str]) -> None:
    folder = panel.source.description.folder
    answered = json.loads(answer_of(capsys, "modes", folder, "--json", "--count", "4"))
    modes = platewright.solve_modes(panel, 4)
    assert modes.hz == pytest.approx([tone["hz"] for tone in answered["modes"]], abs=1e-3)
    assert panel.mass_g == pytest.approx(answered["mass_g"], abs=0.01)
    assert f"{modes.hz[0]:.1f}" in modes._repr_html_()
    assert platewright.__version__ == VERSION


def test_a_plate_shows_itself_as_a_picture(panel: platewright.Plate) -> None:
    assert panel._repr_html_().startswith("<svg")


def test_thinning_leaves_the_plate_as_it_was(panel: platewright.Plate) -> None:
    before = panel.mass_g
    spot = platewright.hollow(150, 0, radius_mm=40, depth_mm=0.5)
    thinner = panel.thinned(spot)
    density = panel.wood.density
    assert before - thinner.mass_g == pytest.approx(1e3 * density * spot.volume, rel=0.02)
    assert panel.mass_g == before


def test_answers_show_themselves_as_their_commands_print_them(panel: platewright.Plate) -> None:
    tried = platewright.shave(panel, platewright.hollow(150, 0, radius_mm=40, depth_mm=0.3))
    assert "After" in tried._repr_html_()
    assert "lowers" in platewright.where(panel, "2")._repr_html_()


def test_the_live_model_is_as_sure_as_it_says(panel: platewright.Plate) -> None:
    spot = platewright.hollow(150, 10, radius_mm=35, depth_mm=0.4)
    live = platewright.live_model(panel).tones(spot)
    full = platewright.solve_modes(panel.thinned(spot), 4).hz
    assert np.all(np.abs(live.hz[:4] - full) <= np.maximum(3 * live.off[:4], 0.003 * full))


def test_taps_of_the_demonstration_top_are_heard() -> None:
    heard = platewright.hear(TOP / "recordings" / "taps.flac")
    assert np.all(np.diff(heard.hz) > 0)
    assert "Hz" in heard._repr_html_()


@pytest.mark.slow
def test_a_plan_has_its_passes(panel: platewright.Plate) -> None:
    wish = 0.98 * platewright.solve_modes(panel).hz_of("2")
    planned = platewright.plan(panel, {"2": wish}, min_thickness_mm=1.5)
    assert "Planned" in planned._repr_html_()
    assert len(planned.passes) == 2
    assert planned.hindrance is None


@pytest.mark.slow
def test_wood_and_powder_of_the_demonstration_top() -> None:
    top = platewright.read_plate(TOP)
    fit = platewright.fit_wood(top)
    assert set(fit.constants) == set(FITTED)
    low, high = fit.interval("EL")
    assert low < fit.constants["EL"] < high
    assert "Fitted to" in fit._repr_html_()
    seen = platewright.read_powder(top, TOP / "photos" / "mode-5.jpg", hz=345)
    assert seen.found.modes.names[seen.found.match.best.index] == "5"
    assert "Score" in seen._repr_html_()


def test_what_cannot_be_done_is_one_sentence(panel: platewright.Plate, tmp_path: Path) -> None:
    with pytest.raises(platewright.InputError, match="expected"):
        platewright.read_plate(tmp_path / "nowhere")
    with pytest.raises(platewright.InputError, match="expected one of"):
        platewright.solve_modes(panel, 2).hz_of("9")
    with pytest.raises(platewright.InputError, match="no entry with tones"):
        platewright.fit_wood(panel)
    with pytest.raises(platewright.InputError, match="is not on this map"):
        platewright.draw_where(platewright.where(panel, "2"), "5")


@pytest.mark.parametrize(
    ("radius", "depth", "said"),
    [
        (-3, 0.2, "radius_mm: -3"),
        (0, 0.2, "radius_mm: 0"),
        (900, 0.2, "expected 6 to 200"),
        (40, 11, "depth_mm: 11"),
        (40, -0.2, "cannot be put back"),
        (40, float("nan"), "depth_mm: nan"),
    ],
)
def test_what_is_no_shaving_is_refused(radius: float, depth: float, said: str) -> None:
    with pytest.raises(platewright.InputError, match=said):
        platewright.hollow(180, 0, radius_mm=radius, depth_mm=depth)
