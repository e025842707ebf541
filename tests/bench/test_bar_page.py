"""Bar on the page: the command's rows for the same bar, and what cannot be glued in."""

import tomllib

import pytest
from playwright.sync_api import Page, expect

from solver.plate_folder.description import read_description
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import RunningBench, bar_rows, open_task

pytestmark = pytest.mark.xdist_group("browser")


def column(page: Page, number: int) -> list[str]:
    """The Hz of one column, tone by tone, and the mass."""
    return page.locator(f"#bars tbody tr td:nth-of-type({number})").all_inner_texts()


@pytest.mark.slow
def test_a_lower_bar_by_keys_alone_has_the_rows_of_the_command(
    page: Page, bench: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ("--height", "10..12", "--steps", "2", "--json")
    lower, present = bar_rows(capsys, str(bench.folder), *asked)
    page.get_by_role("link", name="Bar").focus()
    page.keyboard.press("Enter")
    page.locator("#bar-height").focus()
    for _ in range(20):
        page.keyboard.press("ArrowLeft")
    expect(page.locator("#bar-height-mm")).to_have_value("10")
    page.locator("#try-bar").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#bars")).to_be_visible()
    for number, row in ((2, present), (3, lower)):
        told = [f"{'' if tone['clear'] else '~'}{tone['hz']:.1f}" for tone in row["modes"]]
        shown = column(page, number)
        named = [k for k, tone in enumerate(present["modes"]) if tone["mode"]]
        assert [shown[k] for k in named] == [told[k] for k in named]
        assert shown[-1] == f"{row['mass_g']:.1f}"
    written = tomllib.loads(page.locator("#bar-lines").inner_text())["bar"]
    table = read_description(bench.folder).table.bar
    assert table is not None
    assert written["from_mm"] == pytest.approx(table.from_mm, abs=0.02)
    assert max(height for _, height in written["height_mm"]) == pytest.approx(10.0, abs=0.01)


@pytest.mark.slow
def test_a_bar_by_mouse_that_cannot_be_glued_in_is_said_at_once(page: Page) -> None:
    open_task(page, "Bar")
    slider = page.locator("#bar-aside")
    box = slider.bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + 0.93 * box["width"], box["y"] + box["height"] / 2)
    assert float(page.locator("#bar-aside-mm").input_value()) > 35
    page.locator("#try-bar").click()
    expect(page.locator("#bar-said")).to_contain_text("The bar ")
    expect(page.locator("#bar-said")).to_contain_text("expected")
    page.get_by_role("button", name="Back to the bar as it is").click()
    expect(page.locator("#bar-said")).to_be_empty()
    expect_no_barrier(page)


@pytest.mark.slow
def test_a_bar_is_tried_by_mouse_and_its_work_can_be_stopped(page: Page) -> None:
    open_task(page, "Bar")
    page.locator("#bar-width-mm").fill("6.5")
    page.locator("#try-bar").click()
    page.locator("#bar-work").get_by_role("button", name="Stop").click()
    expect(page.locator("#bar-said")).to_have_text("Stopped.")
    expect(page.locator("#bars")).to_have_count(0)
    page.locator("#try-bar").click()
    expect(page.locator("#bars")).to_be_visible()
    page.locator("#bars").get_by_role("button", name="mode 2").click()
    expect(page.locator("#bars tr.chosen")).to_contain_text("mode 2")
    assert float(column(page, 4)[-1].replace("\N{MINUS SIGN}", "-")) > 0  # a wider bar is heavier
    expect_no_barrier(page)
