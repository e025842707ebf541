"""Sheet on the page: the preview's sheets, and the PDF that the command writes."""

import io
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from solver.cli import main
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import WAIT_MS, RunningBench, open_task, tab_to

MOST_BACK = 12
PASSES = 3
pytestmark = pytest.mark.xdist_group("browser")


def words(content: bytes) -> list[str]:
    """The text of every page."""
    return [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]


@pytest.mark.slow
def test_the_pdf_is_that_of_the_command(page: Page, bench: RunningBench, tmp_path: Path) -> None:
    open_task(page, "Sheet")
    page.locator("#paper").select_option("A3")
    expect(page.locator("#pages")).to_contain_text("of A3.")
    tiles = page.locator("#laid svg rect").count()
    page.locator("#contour").select_option("0.2")
    page.locator("#draw").click()
    with page.expect_download() as saved:
        page.locator("#download a").click()
    content = Path(saved.value.path()).read_bytes()
    assert saved.value.suggested_filename == f"{bench.folder.name}-sheet.pdf"
    out = tmp_path / "sheet.pdf"
    asked = ("sheet", str(bench.folder), "--paper", "A3", "--contour", "0.2", "--out", str(out))
    assert main([*asked]) == 0
    assert words(content) == words(out.read_bytes())
    assert len(words(content)) == tiles + 1
    expect_no_barrier(page)


@pytest.mark.slow
def test_by_keys_alone(page: Page) -> None:
    tab_to(page, '#tasks a[href="#sheet"]')
    page.keyboard.press("Enter")
    tab_to(page, "#paper")
    page.keyboard.press("ArrowDown")
    expect(page.locator("#pages")).to_contain_text("of Letter.")
    tab_to(page, "#with-plan")
    page.keyboard.press("Space")
    expect(page.locator("#wishes")).to_contain_text("mode 5 at 346 Hz, nowhere under 2.2 mm")
    tab_to(page, "#draw")
    page.keyboard.press("Enter")
    tab_to(page, "#sheet-work button")
    page.keyboard.press("Enter")
    expect(page.locator("#sheet-said")).to_have_text("Stopped.")
    expect(page.locator("#sheet-work")).to_be_hidden()
    for _ in range(MOST_BACK):
        if page.evaluate("document.activeElement.id === 'with-plan'"):
            break
        page.keyboard.press("Shift+Tab")
    page.keyboard.press("Space")
    tab_to(page, "#draw")
    page.keyboard.press("Enter")
    expect(page.locator("#download a")).to_be_focused()
    with page.expect_download() as saved:
        page.keyboard.press("Enter")
    assert Path(saved.value.path()).read_bytes().startswith(b"%PDF")


@pytest.mark.slow
def test_the_first_pass_of_a_plan_by_mouse_is_that_of_the_command(
    page: Page, bench: RunningBench, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    open_task(page, "Sheet")
    page.locator("#with-plan").click()
    page.locator("#passes").select_option(str(PASSES))
    page.locator("#draw").click()
    link = page.locator("#download a")
    expect(link).to_be_visible(timeout=4 * WAIT_MS)
    expect(page.locator("#planned")).to_contain_text(f"This is pass 1 of {PASSES}")
    expect(page.locator("#colour")).to_have_value("taken")
    expect_no_barrier(page)
    with page.expect_download() as saved:
        link.click()
    out = tmp_path / "sheet.pdf"
    capsys.readouterr()
    assert main(["sheet", str(bench.folder), "--plan", "--passes", str(PASSES), "--out", str(out)]) == 0
    said = "".join(capsys.readouterr().out.split())
    assert words(Path(saved.value.path()).read_bytes()) == words(out.read_bytes())
    for paragraph in page.locator("#planned p:not(.quiet)").all_inner_texts():
        assert "".join(paragraph.split()) in said
    open_task(page, "Modes")
    expect(page.locator("#colour")).to_have_value("thickness")


@pytest.mark.slow
def test_a_trial_chosen_by_mouse_is_drawn_as_by_the_command(
    page: Page, bench: RunningBench, tmp_path: Path
) -> None:
    """The list itself is the browser's own window, which no test can click; all else is done by mouse."""
    open_task(page, "Thin")
    page.locator("#trial-name").fill("for the sheet")
    page.get_by_role("button", name="Begin", exact=True).click()
    expect(page.locator("#trial option:checked")).to_have_text("for the sheet")
    box = page.locator("#ink").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 0.45 * box["width"], box["y"] + 0.75 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.55 * box["width"], box["y"] + 0.72 * box["height"], steps=6)
    page.mouse.up()
    expect(page.locator("#undo")).to_be_enabled()
    page.locator("#colour").select_option("taken")
    page.get_by_role("link", name="Sheet", exact=True).click()
    expect(page.locator("#colour")).to_have_value("thickness")
    page.locator("#of").click()
    page.keyboard.press("Escape")
    page.locator("#of").select_option('the trial "for the sheet"')
    expect(page.locator("#wishes")).to_contain_text('that the trial "for the sheet" of Thin takes')
    expect(page.locator("#with-plan")).to_be_disabled()
    page.locator("#draw").click()
    with page.expect_download() as saved:
        page.locator("#download a").click()
    out = tmp_path / "sheet.pdf"
    assert main(["sheet", str(bench.folder), "--trial", "for the sheet", "--out", str(out)]) == 0
    assert words(Path(saved.value.path()).read_bytes()) == words(out.read_bytes())
