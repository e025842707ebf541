"""Describe on the page: checked as one types by the command's sentences, written only when asked to."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Dialog, Page, expect

from solver.cli import main
from solver.core.units import MM
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_plate
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import SIZE, RunningBench, bench_on, open_task, tab_to, window
from tests.plate_folders import contents

pytestmark = pytest.mark.xdist_group("browser")


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBench]:
    place = tmp_path_factory.mktemp("describe")
    with bench_on(place, place / "state", "spruce-blank") as running:
        yield running


@pytest.fixture
def described(blank: RunningBench, browser: Browser) -> Iterator[Page]:
    with window(browser, blank, "light", "clipboard-read", "clipboard-write") as page:
        open_task(page, "Describe")
        expect(page.locator("#verdict")).to_have_text("This is what the folder says.")
        yield page


def sheet_of(readings: list[tuple[int, int, float]]) -> str:
    """Readings as a spreadsheet of much of Europe copies them."""
    return "\n".join(f"{x}\t{y}\t{t:.2f}".replace(".", ",") for x, y, t in readings)


def expect_as_checked(page: Page, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Expect the page to have understood what the command understands of the folder."""
    capsys.readouterr()
    assert main(["check", str(folder)]) == 0
    said = "".join(capsys.readouterr().out.split())
    shown = page.locator("#understood dd").all_inner_texts()
    assert shown
    for words in shown:
        assert "".join(words.split()) in said


@pytest.mark.slow
def test_what_was_understood_is_what_the_command_says(
    described: Page, blank: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    expect_as_checked(described, blank.folder, capsys)
    expect_no_barrier(described)


@pytest.mark.slow
def test_a_wrong_figure_is_said_while_one_types_and_nothing_is_written(
    described: Page, blank: RunningBench
) -> None:
    before = contents(blank.folder)
    described.locator("#field-wood-mass_g").fill("")
    described.locator("#field-wood-density_kg_m3").fill("0,39")
    expect(described.locator("#verdict")).to_have_text(
        "Density, kg/m3: it is 0.39; expected 150 to 1400. If that was g/cm3, write 390."
    )
    expect(described.locator("#write")).to_be_disabled()
    described.locator("#field-wood-density_kg_m3").fill("390")
    expect(described.locator("#verdict")).to_have_text("This can be computed. It is not written yet.")
    assert contents(blank.folder) == before
    described.locator("#revert").click()
    expect(described.locator("#field-wood-density_kg_m3")).to_have_value("")


@pytest.mark.slow
def test_a_plate_is_described_by_keys_alone(
    described: Page, blank: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    readings = [(x, y, 4.5 - 0.002 * x) for x in (5, 120, 240, 350) for y in (-60, 0, 60)]
    tab_to(described, '#tasks a[href="#describe"]')
    described.keyboard.press("Enter")
    tab_to(described, "#field-wood-species")
    described.keyboard.type("Sitka")
    expect(described.locator("#field-wood-species")).to_have_value("Sitka spruce")
    tab_to(described, "#table-thickness")
    described.keyboard.press("Control+A")
    described.keyboard.insert_text(sheet_of(readings))
    expect(described.locator("#verdict")).to_have_text("This can be computed. It is not written yet.")
    expect(described.locator("#understood")).to_contain_text("12 readings from thickness.csv")
    tab_to(described, "#write")
    described.keyboard.press("Enter")
    expect(described.locator("#verdict")).to_have_text("This is what the folder says.")
    expect_as_checked(described, blank.folder, capsys)
    plate, table = read_plate(blank.folder), read_description(blank.folder).table
    assert plate.graduation.readings[:, 2] == pytest.approx([t * MM for _, _, t in readings], abs=0.006 * MM)
    assert (table.thickness.uniform_mm, table.wood.species) == (None, "Sitka spruce")
    assert "An invented" in (blank.folder / "plate.toml").read_text()  # its comments stay
    expect(described.locator("#tones")).to_have_count(0)
    open_task(described, "Modes")
    expect(described.locator("#tones")).to_be_visible()


@pytest.mark.slow
def test_a_plate_is_described_by_mouse_alone(
    described: Page, blank: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    before = contents(blank.folder)
    readings = [(x, y, 4.2 - 0.001 * x) for x in (10, 130, 250, 340) for y in (-50, 0, 50)]
    described.evaluate("text => navigator.clipboard.writeText(text)", sheet_of(readings))
    described.get_by_role("button", name="Paste what was copied as Caliper readings").click()
    expect(described.locator("#verdict")).to_have_text("This can be computed. It is not written yet.")
    expect_no_barrier(described)
    described.locator("#revert").click()
    expect(described.locator("#verdict")).to_have_text("This is what the folder says.")
    assert contents(blank.folder) == before
    described.locator("#paste-thickness").click()
    described.locator("#field-wood-species").select_option("Engelmann spruce")
    expect(described.locator("#verdict")).to_have_text("This can be computed. It is not written yet.")
    described.locator("#write").click()
    expect(described.locator(".done")).to_have_text("Written into the folder: thickness.csv and plate.toml.")
    expect(described.locator("#verdict")).to_have_text("This is what the folder says.")
    expect_as_checked(described, blank.folder, capsys)
    read = read_plate(blank.folder).graduation.readings
    assert read[:, 2] == pytest.approx([t * MM for _, _, t in readings], abs=0.006 * MM)
    assert read_description(blank.folder).table.wood.species == "Engelmann spruce"


SLIP = sheet_of([(x, y, 4.2) for x in (10, 130, 250) for y in (-50, 0, 50)] + [(340, 0, 300.0)])
"""Readings of which one is 300 mm."""

COVERED = """() => {
    const one = document.activeElement.getBoundingClientRect();
    return document.querySelector("#standing").getBoundingClientRect().bottom > one.top;
}"""


@pytest.mark.slow
@pytest.mark.parametrize("zoom", [1, 2])
def test_what_is_wrong_is_in_sight_where_one_types(described: Page, zoom: int) -> None:
    """A zoom of 200 % leaves half as many of the page's own pixels either way."""
    described.set_viewport_size({"width": SIZE["width"] // zoom, "height": SIZE["height"] // zoom})
    understood, old = described.locator("#understood"), described.locator("#understood-old")
    before = understood.inner_text()
    expect(old).to_be_hidden()
    for name in ("field-wood-density_kg_m3", "table-arch", "table-thickness"):
        tab_to(described, f"#{name}")
        assert not described.evaluate(COVERED)
    described.keyboard.press("Control+A")
    described.keyboard.insert_text(SLIP)
    expect(described.locator("#verdict")).to_contain_text("300 mm; expected 0.5 to 40")
    expect(described.locator("#verdict")).to_be_in_viewport(ratio=1)
    expect(described.locator("#write")).to_be_in_viewport(ratio=1)
    assert not described.evaluate(COVERED)
    expect(old).to_contain_text("Of the last state that could be computed")
    assert understood.inner_text() == before
    described.locator("#revert").click()
    expect(old).to_be_hidden()


MARKED = (
    "() => { const at = document.activeElement; return at.value.slice(at.selectionStart, at.selectionEnd); }"
)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("slip", "said"),
    [("120\t-60\t300", "300 mm; expected 0.5 to 40"), ("120\t-60\tabc", "line 5, t_mm is abc")],
)
def test_the_line_that_a_refusal_is_about_is_shown(described: Page, slip: str, said: str) -> None:
    readings = [(x, y, 4.2) for x in (5, 120, 240, 350) for y in (-60, 0, 60)]
    lines = sheet_of(readings).splitlines()
    lines[3] = slip
    described.locator("#table-thickness").fill("\n".join(lines))
    expect(described.locator("#verdict")).to_contain_text(said)
    tab_to(described, "#to-line")
    described.keyboard.press("Enter")
    expect(described.locator("#table-thickness")).to_be_focused()
    assert described.evaluate(MARKED) == slip
    described.locator("#revert").click()
    expect(described.locator("#to-line")).to_be_hidden()


SLOW_TO_CHECK = """() => {
    const usual = window.fetch;
    window.fetch = async (path, asked) => {
        if (path.endsWith("/check")) await new Promise((done) => setTimeout(done, 1500));
        return usual(path, asked);
    };
}"""


@pytest.mark.slow
def test_while_it_is_looked_at_nothing_old_is_said(described: Page) -> None:
    described.evaluate(SLOW_TO_CHECK)
    described.locator("#field-title").fill("Another name")
    expect(described.locator("#verdict")).to_have_text("Looking at it \u2026", timeout=1000)
    expect(described.locator("#write")).to_be_disabled()
    expect(described.locator("#verdict")).to_have_text("This can be computed. It is not written yet.")
    described.locator("#revert").click()


def expect_taken_up(page: Page) -> None:
    """Go to Describe, whatever is shown, and expect there what was typed."""
    open_task(page, "Describe")
    expect(page.locator("#taken-up")).to_have_text("Here is again what you typed and did not write.")
    expect(page.locator("#table-thickness")).to_have_value(SLIP)


@pytest.mark.slow
def test_what_was_typed_and_not_written_is_kept_and_said(described: Page, blank: RunningBench) -> None:
    described.locator("#table-thickness").fill(SLIP)
    open_task(described, "Modes")
    expect_taken_up(described)
    described.get_by_role("button", name="Plates").click()
    described.locator(".plates button").first.click()
    expect_taken_up(described)
    described.reload()
    expect_taken_up(described)
    asked: list[str] = []

    def answer(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.accept()

    described.on("dialog", answer)
    described.locator("#field-title").click()  # a browser asks only those who have touched the page
    path = blank.folder / "plate.toml"
    path.write_text(path.read_text() + "\n# from elsewhere\n")
    described.reload()
    expect(described.locator("#taken-up")).to_contain_text("The folder has changed since")
    described.locator("#revert").click()
    expect(described.locator("#taken-up")).to_have_count(0)
    described.reload()
    expect(described.locator("#verdict")).to_have_text("This is what the folder says.")
    assert asked == ["beforeunload"]


@pytest.mark.slow
def test_nothing_is_written_over_what_changed_meanwhile(described: Page, blank: RunningBench) -> None:
    path = blank.folder / "plate.toml"
    described.locator("#field-title").fill("Another name")
    expect(described.locator("#write")).to_be_enabled()
    path.write_text(path.read_text() + "\n# from elsewhere\n")
    described.locator("#write").click()
    expect(described.locator("#verdict")).to_contain_text("changed by something else")
    assert "Another name" not in path.read_text()
