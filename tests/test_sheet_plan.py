"""``platewright sheet --plan``: the first pass of a plan on paper, read from the PDF's own coordinates."""

import re
from pathlib import Path

import pytest
import shapely
import shapely.affinity
from pypdf import PdfReader
from shapely.geometry.base import BaseGeometry

from solver.cli import main
from solver.stock import write_stock_plate
from solver.viewer.sheet.plan_ink import removal_colour
from tests.plate_folders import panel_files, write_folder
from tests.viewer.pdf_paths import Painted, painted

DENSITY = 640.0
"""Of the stock violin back [kg/m3]; its plate.toml says so."""

STEP = 0.1


pytestmark = pytest.mark.xdist_group("sheet_plan")  # one worker, so that what they share is made once


@pytest.fixture(scope="module")
def back(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("plates") / "back"
    write_stock_plate(folder, "violin-back")
    return folder


@pytest.fixture(scope="module")
def sheet(back: Path) -> PdfReader:
    out = back / "plan.pdf"
    wishes = ["--want", "5=350", "--keep", "2", "--min-thickness", "waist=2.6"]
    assert main(["sheet", str(back), "--plan", *wishes, "--paper", "A3", "--out", str(out)]) == 0
    return PdfReader(out)


@pytest.fixture(scope="module")
def words(sheet: PdfReader) -> str:
    return " ".join(sheet.pages[0].extract_text().split())


@pytest.fixture(scope="module")
def paths(sheet: PdfReader) -> list[Painted]:
    return painted(sheet.pages[1])


def bands(paths: list[Painted]) -> dict[float, BaseGeometry]:
    """The areas of the steps of removal [mm], by their colours."""
    found = {}
    for step in range(1, 9):
        colour = [int(removal_colour(STEP * step, STEP)[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        parts = [p.area for p in paths if p.fill == pytest.approx(colour, abs=2e-3) and p.operator != "S"]
        if parts:
            found[STEP * step] = shapely.union_all(parts)
    return found


def test_the_wood_on_paper_weighs_what_the_table_says(words: str, paths: list[Painted]) -> None:
    """Areas by steps bound the volume from both sides; the mass before and after the pass stands in the table."""
    mass = re.search(r"mass ([\d.]+) g – – ([\d.]+) g ([\d.]+) g", words)
    assert mass
    now, after, in_the_end = (float(figure) for figure in mass.groups())
    areas = {level: area.area for level, area in bands(paths).items()}
    assert len(areas) >= 2
    plate = max(p.area.area for p in paths if len(p.parts[0]) > 500)
    least = sum(level * area for level, area in areas.items())
    most = least + STEP * plate
    taken, rounding = (1e6 * grams / DENSITY for grams in (now - after, 0.1))  # mm3 for g and kg/m3
    assert least - rounding < taken < most + rounding
    assert now - after == pytest.approx(0.5 * (now - in_the_end), abs=0.15)  # half of the way


def test_a_back_gets_the_same_on_both_sides(paths: list[Painted]) -> None:
    left, _, right, _ = max((p.area for p in paths if len(p.parts[0]) > 500), key=lambda a: a.area).bounds
    for area in bands(paths).values():
        mirrored = shapely.affinity.scale(area, xfact=-1, origin=(0.5 * (left + right), 0.0))
        assert area.symmetric_difference(mirrored).area < 0.03 * area.area


def test_the_figures_are_those_wanted_and_predicted(words: str) -> None:
    ring = re.search(r"mode 5 ([\d.]+) Hz \S+ \S+ cents – 350.0 Hz ([\d.]+) Hz ([\d.]+) Hz", words)
    assert ring
    now, after, in_the_end = (float(figure) for figure in ring.groups())
    assert in_the_end == pytest.approx(350, rel=0.003)
    assert now > after >= 0.5 * (now + in_the_end) - 0.2
    for said in (
        "This is pass 1 of 2",
        "The plan brings the expected tones within 0.3 % of every wish",
        "Least thickness: 2.60 mm waist; 2.10 mm elsewhere",
        "weigh, tap, log and plan again",
        "Wood cannot be put back",
        "Wood dust harms the lungs",
    ):
        assert said in words


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--want", "1=50"], "no plan is asked for; expected them with --plan"),
        (["--asymmetric"], "no plan is asked for"),
        (["--plan"], "nothing is wished for"),
        (["--plan", "--want", "1=50"], "no least thickness is set"),
        (["--plan", "--want", "1=50", "--passes", "1"], "--passes: 1; expected 2 to 6"),
    ],
)
def test_what_cannot_be_drawn_is_refused(
    arguments: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    panel = write_folder(tmp_path / "panel", panel_files())
    assert main(["sheet", str(panel), *arguments]) == 2
    assert said in capsys.readouterr().err
    assert not list(panel.glob("*.pdf"))
