"""Another bar in plate.toml: read back as it was meant, all else as it stood."""

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate.bar import Bar
from solver.plate_folder.bar_change import bar_lines, with_bar
from solver.plate_folder.change import write_change
from solver.plate_folder.read import read_plate
from tests.plate_folders import ellipse_files, write_folder

BAR = """
[bar]    # as glued in
from_mm = [75.0, 17.0]
width_mm = 5.5    # at the foot
to_mm = [285.0, 12.0]
height_mm = [[0.0, 2.5], [0.5, 12.0], [1.0, 2.5]]

[bar.wood]
species = "Norway spruce"
density_kg_m3 = 430    # split

"""
HALF_A_HUNDREDTH = 0.005 * MM + 1e-12


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A plate whose bar has comments, keys in an order of their own, and wood of its own."""
    files = ellipse_files()
    files["plate.toml"] = re.sub(r"\n\[bar\].*?(?=\[climate)", BAR, files["plate.toml"], flags=re.DOTALL)
    assert "# at the foot" in files["plate.toml"]
    return write_folder(tmp_path / "top", files)


def bar_in(folder: Path) -> Bar:
    bar = read_plate(folder).bar
    assert bar is not None
    return bar


def test_the_bar_is_read_back_and_comments_order_and_its_wood_stay(folder: Path) -> None:
    before, present = (folder / "plate.toml").read_text(), bar_in(folder)
    taper = present.profile * np.array([1.0, 0.87654])
    wanted = replace(present, start=present.start + 0.00123, width=1.11111 * present.width, profile=taper)
    write_change(folder, {"plate.toml": with_bar(before, wanted)})
    after, found = (folder / "plate.toml").read_text(), bar_in(folder)
    for name in ("start", "end", "width", "profile"):
        assert getattr(found, name) == pytest.approx(getattr(wanted, name), abs=HALF_A_HUNDREDTH)
    assert found.wood.density == present.wood.density
    lines = list(zip(before.splitlines(), after.splitlines(), strict=True))
    different = [(old, new) for old, new in lines if old != new]
    assert [old.split()[0] for old, _ in different] == ["from_mm", "width_mm", "height_mm"]
    assert all(old.split()[0] == new.split()[0] for old, new in different)
    assert all(old.partition("#")[2] == new.partition("#")[2] for old, new in different)


def test_a_plate_without_a_bar_gets_the_table_at_its_end(folder: Path) -> None:
    before = 'format = 1\ntitle = "bare"    # so far\n\n[wanted]\nmodes_hz = { 5 = 350.0 }\n'
    bar = bar_in(folder)
    after = with_bar(before, bar)
    assert after.startswith(before)
    assert tomllib.loads(after)["bar"] == tomllib.loads(bar_lines(bar))["bar"]


@pytest.mark.parametrize(
    ("text", "words"), [("bar = 3\n", "bar is no table"), ("[bar", "it is not valid TOML")]
)
def test_what_cannot_be_changed_is_refused(text: str, words: str, folder: Path) -> None:
    with pytest.raises(InputError, match=words):
        with_bar(text, bar_in(folder))
