"""Thin by the keyboard alone: a plan drawn into a trial, and what was carved, against the commands' answers."""

import csv
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from solver.cli import main
from solver.plate_folder.description import read_description
from tests.bench.conftest import ROOT, SIZE, RunningBench, command_json, end, go_to, start_bench, tab_to
from tests.bench.test_thin_page import state

pytestmark = [pytest.mark.xdist_group("browser"), pytest.mark.slow]

OFF_BY_THE_QUICK_ANSWER = 2e-3
"""What a trial's tones may be off: they come by the model kept ready, the command's by a full solve."""

OFF_BY_THE_MAP = 5e-3
"""What the carved plate's tones may be off: between the places of the new file its map is drawn afresh."""


def type_into(page: Page, field: str, value: str) -> None:
    """Go to a field by the tabulator key and write a value over what it holds."""
    tab_to(page, field)
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.press("Delete")
    page.keyboard.type(value)


def go_to_thin(page: Page) -> None:
    expect(page.locator("#tasks")).to_be_visible()
    tab_to(page, '#tasks a[href="#thin"]')
    page.keyboard.press("Enter")
    expect(page.locator("#cut")).to_be_visible()


def test_a_plan_drawn_by_keys_is_that_of_the_command(
    page: Page, bench: RunningBench, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    asked = ("--want", "5=349", "--min-thickness", "2.2", "--max-removal", "0.5", "--json")
    told = command_json(capsys, "plan", str(bench.folder), *asked)
    go_to_thin(page)
    for name, value in (("1", ""), ("2", ""), ("5", "349"), ("least", "2.2"), ("most", "0.5")):
        type_into(page, f"#plan-{name}", value)
    page.keyboard.press("Enter")
    expect(page.locator("#plan-said")).to_contain_text(f"{told['removed_g']:.2f} g, at most")
    name = page.locator("#trial option:checked").inner_text()
    tried = state(page, page.locator("#trial").input_value())
    assert name.startswith("plan")
    planned = [tone["planned_hz"] for tone in told["modes"]]
    shown = [tone["hz"] for tone in tried["modes"][: len(planned)]]
    assert shown == pytest.approx(planned, rel=OFF_BY_THE_QUICK_ANSWER)
    assert tried["removed_g"] == pytest.approx(told["removed_g"], abs=0.02)
    expect_its_sheet_to_be_the_command_s(page, bench, name, tmp_path)


def expect_its_sheet_to_be_the_command_s(page: Page, bench: RunningBench, name: str, place: Path) -> None:
    """Print the trial by keys alone and compare the words of every page with the command's."""
    from tests.bench.test_sheet_page import words

    page.keyboard.press("Home")
    page.evaluate("document.activeElement.blur()")
    tab_to(page, '#tasks a[href="#sheet"]')
    page.keyboard.press("Enter")
    expect(page.locator("#of option", has_text=f'the trial "{name}"').first).to_be_attached()
    tab_to(page, "#of")
    page.keyboard.type(f'the trial "{name}"')
    expect(page.locator("#wishes")).to_contain_text(f'the trial "{name}" of Thin')
    tab_to(page, "#draw")
    page.keyboard.press("Enter")
    expect(page.locator("#download a")).to_be_focused()
    expect(page.locator("#planned")).to_contain_text(f'This is the trial "{name}"')
    with page.expect_download() as saved:
        page.keyboard.press("Enter")
    out = place / "sheet.pdf"
    assert main(["sheet", str(bench.folder), "--trial", name, "--out", str(out)]) == 0
    assert words(Path(saved.value.path()).read_bytes()) == words(out.read_bytes())


def test_what_was_carved_is_written_by_keys_as_it_was_tried(
    tmp_path: Path, browser: Browser, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(ROOT / "cases" / "spruce-blank", tmp_path / "blank")
    running = start_bench(tmp_path / "blank", tmp_path / "state")
    page = browser.new_page(viewport=SIZE, reduced_motion="reduce")
    try:
        go_to(page, running)
        go_to_thin(page)
        for field, value in (("#width", "80"), ("#cut", "0.5"), ("#trial-name", "by keys")):
            type_into(page, field, value)
        page.keyboard.press("Enter")
        expect(page.locator("#trial option:checked")).to_have_text("by keys")
        tab_to(page, "#ink")
        page.keyboard.press("Enter")
        expect(page.locator("#carved")).to_be_enabled()
        tried = state(page, "by-keys")
        page.on("dialog", lambda dialog: dialog.accept())
        tab_to(page, "#carved")
        page.keyboard.press("Enter")
        expect(page.locator("#side-by-side, #trial:disabled")).to_have_count(1)
    finally:
        page.close()
        assert "Traceback" not in end(running)
    file = read_description(running.folder).table.thickness.file
    assert file is not None
    written = running.folder / file
    with written.open(encoding="utf-8", newline="") as lines:
        thicknesses = [float(row["t_mm"]) for row in csv.DictReader(lines)]
    assert min(thicknesses) == pytest.approx(tried["thinnest_mm"], abs=0.06)  # places lie apart
    told = command_json(capsys, "modes", str(running.folder), "--json")
    assert told["mass_g"] == pytest.approx(
        tried["mass_g"], abs=0.2 * tried["removed_g"]
    )  # the map between places
    named = {tone["order"]: tone["hz"] for tone in told["modes"]}
    for tone in tried["modes"][:5]:
        assert named[tone["order"]] == pytest.approx(tone["hz"], rel=OFF_BY_THE_MAP)
