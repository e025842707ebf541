"""Describe on the page: checked as one types by the command's sentences, written only when asked to."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from solver.cli import main
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_plate
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import ROOT, SIZE, RunningBench, end, open_task, start_bench

pytestmark = pytest.mark.xdist_group("browser")


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBench]:
    place = tmp_path_factory.mktemp("describe")
    shutil.copytree(ROOT / "cases" / "spruce-blank", place / "blank")
    running = start_bench(place / "blank", place / "state")
    yield running
    assert "Traceback" not in end(running)


@pytest.fixture
def described(blank: RunningBench, browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport=SIZE, reduced_motion="reduce")
    page.goto(f"{blank.address}/#key={blank.key}")
    open_task(page, "Describe")
    expect(page.locator("#verdict")).to_have_text("This is what the folder says.")
    yield page
    page.close()


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.slow
def test_what_was_understood_is_what_the_command_says(
    described: Page, blank: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(blank.folder)]) == 0
    said = "".join(capsys.readouterr().out.split())
    for words in described.locator("#understood dd").all_inner_texts():
        assert "".join(words.split()) in said
    expect_no_barrier(described)


@pytest.mark.slow
def test_a_wrong_figure_is_said_while_one_types_and_nothing_is_written(
    described: Page, blank: RunningBench
) -> None:
    before = contents(blank.folder)
    described.locator("#field-wood-mass_g").fill("")
    described.locator("#field-wood-density_kg_m3").fill("0,39")
    expect(described.locator("#verdict")).to_have_text(
        "plate.toml: wood.density_kg_m3 is 0.39; expected 150 to 1400. If that was g/cm3, write 390."
    )
    expect(described.locator("#write")).to_be_disabled()
    described.locator("#field-wood-density_kg_m3").fill("390")
    expect(described.locator("#verdict")).to_have_text("This can be computed. It is not written yet.")
    assert contents(blank.folder) == before
    described.locator("#revert").click()
    expect(described.locator("#field-wood-density_kg_m3")).to_have_value("")


@pytest.mark.slow
def test_readings_from_a_spreadsheet_are_written_by_keys_alone(described: Page, blank: RunningBench) -> None:
    rows = [(x, y, 4.5 - 0.002 * x) for x in (5, 120, 240, 350) for y in (-60, 0, 60)]
    pasted = "\n".join(f"{x}\t{y}\t{t:.2f}".replace(".", ",") for x, y, t in rows)
    described.locator("#table-thickness").focus()
    described.keyboard.insert_text(pasted)
    expect(described.locator("#verdict")).to_have_text("This can be computed. It is not written yet.")
    expect(described.locator("#understood")).to_contain_text("12 readings from thickness.csv")
    described.locator("#write").focus()
    described.keyboard.press("Enter")
    expect(described.locator("#verdict")).to_have_text("This is what the folder says.")
    plate = read_plate(blank.folder)
    assert len(plate.graduation.readings) == 12
    assert read_description(blank.folder).table.thickness.uniform_mm is None
    assert "An invented" in (blank.folder / "plate.toml").read_text()  # its comments stay
    expect(described.locator("#tones")).to_have_count(0)
    open_task(described, "Modes")
    expect(described.locator("#tones")).to_be_visible()


@pytest.mark.slow
def test_nothing_is_written_over_what_changed_meanwhile(described: Page, blank: RunningBench) -> None:
    path = blank.folder / "plate.toml"
    described.locator("#field-title").fill("Another name")
    expect(described.locator("#write")).to_be_enabled()
    path.write_text(path.read_text() + "\n# from elsewhere\n")
    described.locator("#write").click()
    expect(described.locator("#verdict")).to_contain_text("changed by something else")
    assert "Another name" not in path.read_text()
