"""Sheet on the page: the preview's sheets, and the PDF that the command writes."""

import io
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from solver.cli import main
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import RunningBench, open_task

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
    page.get_by_role("link", name="Sheet").focus()
    page.keyboard.press("Enter")
    page.locator("#paper").focus()
    page.keyboard.press("ArrowDown")
    expect(page.locator("#pages")).to_contain_text("of Letter.")
    page.locator("#draw").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#download a")).to_be_focused()
    with page.expect_download() as saved:
        page.keyboard.press("Enter")
    assert Path(saved.value.path()).read_bytes().startswith(b"%PDF")
