"""A plate folder in, a plate in SI out; and back again."""

import os
import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.core.errors import InputError
from solver.plate.mass import bar_mass, plate_mass
from solver.plate_folder.description import read_description
from solver.plate_folder.inside import file_in
from solver.plate_folder.read import read_folder, read_plate
from solver.plate_folder.schema import LogEntry, PlateTable, WoodTable
from solver.plate_folder.toml_file import parse_toml
from solver.plate_folder.wood_table import wood_sources
from solver.plate_folder.write import write_new_folder
from tests.plate_folders import (
    LENGTH,
    LOG_TOML,
    PLATE_TOML,
    RISE,
    THICKEST,
    WIDTH,
    ellipse_files,
    panel_files,
    replaced,
    write_folder,
)


def test_everything_arrives_in_si(tmp_path: Path) -> None:
    plate = read_plate(write_folder(tmp_path / "plate", ellipse_files()))
    assert (plate.title, plate.role) == ("Ellipse for trying things out", "top")
    np.testing.assert_allclose(
        plate.outline.bounds, (0, -0.5e-3 * WIDTH, 1e-3 * LENGTH, 0.5e-3 * WIDTH), atol=2e-5
    )
    assert [hole.name for hole in plate.outline.holes] == ["left", "right"]
    middle = np.array([[0.5e-3 * LENGTH, 0.0]])
    assert plate.arch.at(middle).height[0] == pytest.approx(1e-3 * RISE, abs=2e-4)
    assert plate.graduation.at(middle)[0] == pytest.approx(1e-3 * THICKEST, abs=0.05e-3)
    assert plate.wood.density == 400.0
    assert pytest.approx(11.9e9) == plate.wood.EL
    assert pytest.approx(0.064 * 11.9e9) == plate.wood.GLR  # Sitka spruce, Wood Handbook, Table 5-1
    assert plate.bar is not None
    np.testing.assert_allclose([*plate.bar.start, *plate.bar.end], [0.075, 0.017, 0.285, 0.012])
    np.testing.assert_allclose(plate.bar.profile, [[0, 2.5e-3], [0.5, 12e-3], [1, 2.5e-3]])
    assert plate.bar.wood is plate.wood


def test_angles_turn_the_wood(tmp_path: Path) -> None:
    files = panel_files()
    files["plate.toml"] += "grain_deg = 5.0\nring_deg = -90.0\n"
    wood = read_plate(write_folder(tmp_path / "plate", files)).wood
    assert (wood.grain, wood.ring) == pytest.approx((np.radians(5), -np.pi / 2))


@pytest.mark.parametrize("bar_wood", ["", '[bar.wood]\nspecies = "sugar maple"\n', "own mass"])
def test_a_stated_mass_is_what_the_plate_weighs(tmp_path: Path, bar_wood: str) -> None:
    files = ellipse_files()
    replaced("plate.toml", "density_kg_m3 = 400", "mass_g = 62.5")(files)
    own = '[bar.wood]\nspecies = "Norway spruce"\nmass_g = 4.4\n' if bar_wood == "own mass" else bar_wood
    replaced("plate.toml", "[climate]", f"{own}\n[climate]")(files)
    plate = read_plate(write_folder(tmp_path / "plate", files))
    assert plate_mass(plate) == pytest.approx(62.5e-3, rel=1e-9)
    assert plate.bar is not None
    if bar_wood == "own mass":
        assert bar_mass(plate) == pytest.approx(4.4e-3, rel=1e-9)
    elif bar_wood:
        assert plate.bar.wood.density == 706.0  # sugar maple, Wood Handbook: 0.63 with 12 % moisture
    else:
        assert plate.bar.wood.density == plate.wood.density


def test_mass_agrees_with_density(tmp_path: Path) -> None:
    by_density = read_plate(write_folder(tmp_path / "a", ellipse_files()))
    files = ellipse_files()
    replaced("plate.toml", "density_kg_m3 = 400", f"mass_g = {1e3 * plate_mass(by_density):.6f}")(files)
    by_mass = read_plate(write_folder(tmp_path / "b", files))
    assert by_mass.wood.density == pytest.approx(400.0, rel=1e-6)


@pytest.mark.parametrize(
    ("table", "rise", "touch"),
    [("rise_mm = 15.5\nchannel_mm = 9.0", 15.5e-3, 1.5e-3), ("flat = true", 0.0, 1e-12)],
)
def test_arch_without_readings(tmp_path: Path, table: str, rise: float, touch: float) -> None:
    files = ellipse_files()
    replaced("plate.toml", 'file = "arch.csv"', table)(files)
    plate = read_plate(write_folder(tmp_path / "plate", files))
    x, y = np.meshgrid(np.linspace(0, 0.356, 60), np.linspace(-0.104, 0.104, 40))
    points = np.stack([x.ravel(), y.ravel()], axis=1)
    heights = plate.arch.at(points[plate.outline.contains(points)]).height
    assert heights.max() == pytest.approx(rise, abs=2e-4)
    assert abs(heights.min()) <= touch


def test_log_is_read_oldest_first_whatever_its_files_are_called(tmp_path: Path) -> None:
    files = ellipse_files()
    files["log/a.toml"] = LOG_TOML.replace(
        "2026-03-14T19:05:00+01:00", "2026-03-14T18:30:00Z"
    )  # half an hour later
    files["log/z.toml"] = LOG_TOML.replace("2026-03-14T19:05:00+01:00", "2025-01-01T08:00:00")
    files["log/notes.txt"] = "not an entry"
    log = read_description(write_folder(tmp_path / "plate", files)).log
    assert list(log) == ["z.toml", "2026-03-14T190500.toml", "a.toml"]
    assert log["a.toml"].modes_hz == {"1": 88.0, "2": 168.5, "5": 342.0}
    assert log["a.toml"].tones_hz == (224.0, 261.0)


def test_what_is_wanted_and_the_room_are_kept(tmp_path: Path) -> None:
    table = read_description(write_folder(tmp_path / "plate", ellipse_files())).table
    assert table.wanted is not None
    assert table.wanted.modes_hz == {"2": 165.0, "5": 350.0}
    assert table.climate is not None
    assert table.climate.humidity_pct == 50.0


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "plate", panel_files())
    for file in folder.iterdir():
        file.write_bytes(b"\xef\xbb\xbf" + file.read_bytes().replace(b"\n", b"\r\n"))
    assert read_plate(folder).title == "Blank"


def test_sources_of_the_constants() -> None:
    sources = wood_sources(WoodTable(species="sugar maple", mass_g=95.0, EL_GPa=12.0))
    assert sources["EL"] == "as stated in plate.toml"
    assert sources["density"] == "from the mass, 95 g"
    assert sources["GLR"] == "0.111 EL, Wood Handbook, GTR-190, Table 5-1"
    assert "assumed as for black walnut" in sources["GRT"]
    assert "(from memory)" in wood_sources(WoodTable(species="red maple"))["ER"]


def test_a_new_folder_never_lies_over_another(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "plate", panel_files())
    with pytest.raises(InputError, match="something is there already"):
        write_new_folder(folder, ellipse_files())
    assert read_plate(folder).title == "Blank"
    (tmp_path / "empty").mkdir()
    assert read_plate(write_folder(tmp_path / "empty", panel_files())).title == "Blank"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["empty", "plate"]


def test_a_new_folder_must_be_readable(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="title is missing"):
        write_new_folder(tmp_path / "plate", {"plate.toml": "format = 1\n"})
    assert not (tmp_path / "plate").exists()


@pytest.mark.skipif(os.name == "nt", reason="links need rights on Windows")
def test_a_link_that_leads_out_is_refused(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "plate", panel_files())
    (folder / "outline.csv").rename(tmp_path / "outline.csv")
    (folder / "outline.csv").symlink_to(tmp_path / "outline.csv")
    with pytest.raises(InputError, match="expected a file inside the plate's folder"):
        file_in(folder, "outline.csv", "plate.toml: outline.file")


@given(st.data())
def test_no_scribble_in_plate_toml_is_a_bug(data: st.DataObject) -> None:
    """Whatever a slip of the fingers makes of the file, it is understood or refused in a sentence."""
    start = data.draw(st.integers(0, len(PLATE_TOML)))
    end = data.draw(st.integers(start, min(len(PLATE_TOML), start + 20)))
    scribble = data.draw(st.text(st.sampled_from("0123456789.,-e\"'[]{}=#\n abcxyz_"), max_size=12))
    text = PLATE_TOML[:start] + scribble + PLATE_TOML[end:]
    sentence, title = "", ""
    try:
        title = parse_toml(text, PlateTable, "plate.toml").title
    except InputError as error:
        sentence = str(error)
    if sentence:
        assert sentence.startswith("plate.toml: ")
        assert "\n" not in sentence
    else:
        assert title == tomllib.loads(text)["title"]


def test_a_huge_toml_file_is_not_even_read(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "plate", panel_files())
    with (folder / "plate.toml").open("ab") as stream:
        stream.truncate(40_000_000)
    with pytest.raises(InputError, match=r"plate.toml: it is 40 MB; expected at most 1 MB"):
        read_description(folder)


def test_values_cannot_be_changed_after_reading() -> None:
    entry = parse_toml(LOG_TOML, LogEntry, "log/x.toml")
    with pytest.raises(ValueError, match="frozen"):
        entry.mass_g = 1.0


def test_read_folder_keeps_description_and_plate_together(tmp_path: Path) -> None:
    description = read_description(write_folder(tmp_path / "plate", panel_files()))
    read = read_folder(description)
    assert read.description is description
    assert read.plate.title == description.table.title
