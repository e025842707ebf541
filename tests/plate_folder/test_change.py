"""What a maker types becomes files: comments kept, spreadsheets understood, all written or nothing; and carved trials."""

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from meshes.removal import Hollow, Removal, Stroke, Together
from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate.thinning import thinned
from solver.plate_folder.carved import carved_files
from solver.plate_folder.change import try_change, write_change
from solver.plate_folder.description import READINGS
from solver.plate_folder.edit import edited_description, pasted_table
from solver.plate_folder.read import read_plate
from tests.plate_folders import contents, ellipse_files, panel_files, write_folder

TEXT = """\
# mine
title = "A"   # kept

[wood]
density_kg_m3 = 400  # weighed
EL_GPa = 11.9

[wanted]
modes_hz = { 2 = 165.0 }
"""
WHEN = datetime(2026, 4, 2, 18, 30, tzinfo=UTC)


def test_editing_keeps_comments_and_order() -> None:
    edited = edited_description(TEXT, {"wood.density_kg_m3": "392,5", "wood.EL_GPa": "", "title": "B"})
    assert edited == TEXT.replace("400  #", "392.5  #").replace("EL_GPa = 11.9\n", "").replace('"A"', '"B"')
    assert edited_description(TEXT, {}) == TEXT


def test_editing_makes_and_takes_out_tables() -> None:
    edited = edited_description(
        TEXT, {"climate.humidity_pct": "50", "wanted.modes_hz.2": "", "wanted.modes_hz.5": "350"}
    )
    assert "[climate]\nhumidity_pct = 50" in edited
    assert "modes_hz = {5 = 350}" in edited.replace("{ ", "{").replace(" }", "}")
    assert "[wanted]" not in edited_description(TEXT, {"wanted.modes_hz.2": ""})


@pytest.mark.parametrize(
    "pasted",
    [
        "x_mm,y_mm,t_mm\n10,-5,2.5\n20,0,2.75\n",
        "10,-5,2.5\r\n20,0,2.75",
        "10\t-5\t2,5\n\n20\t0\t2,75\n",
        "x_mm;y_mm;t_mm\n10;-5;2,5\n20;0;2,75",
        "10 -5 2.5\n20  0  2.75",
    ],
)
def test_spreadsheets_of_all_kinds_make_one_table(pasted: str) -> None:
    assert pasted_table(pasted, READINGS) == "x_mm,y_mm,t_mm\n10,-5,2.5\n20,0,2.75\n"


def test_what_makes_no_plate_is_not_written(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "panel", panel_files())
    before = contents(folder)
    worse = edited_description((folder / "plate.toml").read_text(), {"thickness.uniform_mm": "0.3"})
    for files in ({"plate.toml": worse}, {"outline.csv": "x_mm,y_mm\n0,0\n"}, {"../outside.csv": "x"}):
        with pytest.raises(InputError):
            write_change(folder, files)
    assert contents(folder) == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["panel"]


def test_what_makes_a_plate_is_written(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "panel", panel_files())
    better = edited_description((folder / "plate.toml").read_text(), {"thickness.uniform_mm": "3.5"})
    assert try_change(folder, {"plate.toml": better}).plate.graduation.at(np.zeros((1, 2)))[
        0
    ] == pytest.approx(3.5e-3)
    assert read_plate(folder).graduation.at(np.zeros((1, 2)))[0] == pytest.approx(3.0e-3)
    write_change(folder, {"plate.toml": better})
    assert read_plate(folder).graduation.at(np.zeros((1, 2)))[0] == pytest.approx(3.5e-3)


@pytest.mark.parametrize("files", [ellipse_files(), panel_files()], ids=["top", "panel"])
def test_after_carving_the_map_is_the_trial_s_and_the_readings_stay(
    files: dict[str, str], tmp_path: Path
) -> None:
    folder = write_folder(tmp_path / "plate", files)
    plate = read_plate(folder)
    middle = np.array([0.12, -0.03])
    taken: tuple[Removal, ...] = (
        Stroke(np.array([middle, middle + 0.03]), 0.015, 0.15e-3),
        Hollow(middle, 0.02, 0.3e-3),
    )
    text = (folder / "plate.toml").read_text()
    written = carved_files(text, plate, taken, WHEN)
    write_change(folder, written)
    assert set(written) == {"plate.toml", "thickness-2026-04-02T183000.csv"}
    if "thickness.csv" in files:
        assert (folder / "thickness.csv").read_text() == files["thickness.csv"]
    expected = thinned(plate, Together(taken)).graduation
    places = np.random.default_rng(5).uniform((0.05, -0.05), (0.25, 0.05), (500, 2))
    places = places[plate.outline.contains(places)]
    off = read_plate(folder).graduation.at(places) - expected.at(places)
    # the caliper's repeatability is 0.05 mm; a map through readings rounded to 0.01 mm cannot be better than that
    assert np.abs(off).max() < 0.08 * MM
    assert np.sqrt(np.mean(off**2)) < 0.02 * MM
