"""Bar on the page: the command's rows for the same bar, what cannot be glued in, and a bar written into plate.toml."""

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from solver.plate_folder.description import read_description
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import RunningBench, bar_rows, bench_on, open_task, tab_to, window

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
    expect(page.locator("#bar-work")).to_be_hidden()
    expect(page.locator("#bars")).to_have_count(0)
    page.locator("#try-bar").click()
    expect(page.locator("#bars")).to_be_visible()
    page.locator("#bars").get_by_role("button", name="mode 2").click()
    expect(page.locator("#bars tr.chosen")).to_contain_text("mode 2")
    assert float(column(page, 4)[-1].replace("\N{MINUS SIGN}", "-")) > 0  # a wider bar is heavier
    expect_no_barrier(page)


@pytest.fixture
def own(tmp_path: Path) -> Iterator[RunningBench]:
    with bench_on(tmp_path, tmp_path / "state") as running:
        yield running


@pytest.fixture
def barred(own: RunningBench, browser: Browser) -> Iterator[Page]:
    with window(browser, own) as page:
        expect(page.locator("#tasks")).to_be_visible()
        yield page


def written_bar(folder: Path) -> dict[str, object]:
    bar: dict[str, object] = tomllib.loads((folder / "plate.toml").read_text())["bar"]
    return bar


@pytest.mark.slow
def test_a_bar_is_tried_and_written_by_keys_alone(
    barred: Page, own: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    before = written_bar(own.folder)
    tab_to(barred, '#tasks a[href="#bar"]')
    barred.keyboard.press("Enter")
    tab_to(barred, "#bar-height-mm")
    barred.keyboard.press("Control+A")
    barred.keyboard.type("10")
    tab_to(barred, "#try-bar")
    barred.keyboard.press("Enter")
    expect(barred.locator("#bars")).to_be_visible()
    other = column(barred, 3)
    tab_to(barred, "#use-bar")
    barred.keyboard.press("Enter")
    expect(barred.locator("#write-bar")).to_be_focused()
    expect_no_barrier(barred)
    assert written_bar(own.folder) == before
    barred.keyboard.press("Enter")
    expect(barred.locator(".done")).to_have_text("The bar is written into plate.toml.")
    found = written_bar(own.folder)
    assert found == before | {"height_mm": [[0.0, 2.08], [0.5, 10.0], [1.0, 2.08]]}
    asked = ("--height", "10..12", "--steps", "2", "--json")
    row = bar_rows(capsys, str(own.folder), *asked)[0]
    assert [float(hz.removeprefix("~")) for hz in other[:5]] == pytest.approx(
        [tone["hz"] for tone in row["modes"][:5]], abs=0.15
    )  # the taper, written to hundredths of a millimetre, is what differs


@pytest.mark.slow
def test_a_bar_by_mouse_is_not_written_over_what_changed_meanwhile(barred: Page, own: RunningBench) -> None:
    path = own.folder / "plate.toml"
    open_task(barred, "Bar")
    barred.locator("#bar-width-mm").fill("6")
    barred.locator("#try-bar").click()
    barred.locator("#use-bar").click()
    barred.locator("#leave-bar").click()
    expect(barred.locator("#use-question")).to_be_hidden()
    barred.locator("#use-bar").click()
    path.write_text(path.read_text() + "\n# from elsewhere\n")
    changed = path.read_bytes()
    barred.locator("#write-bar").click()
    expect(barred.locator("#use-said")).to_contain_text("changed by something else")
    assert path.read_bytes() == changed


@pytest.mark.slow
def test_a_bar_that_cannot_be_is_refused_by_the_name_of_its_field(page: Page) -> None:
    open_task(page, "Bar")
    for name, figure, said in (
        (
            "height",
            "0",
            "Height, mm: it is 0; expected more than 0 to 60. Write how high the bar is where it is highest.",
        ),
        ("height", "", "Height, mm: it is empty; expected a number. Write one, or move the slider."),
        (
            "along",
            "9999",
            "The bar's lower end, mm up: it is 9864.5; expected -2000 to 2000. If that was micrometres, write 9.864.",
        ),
    ):
        page.locator(f"#bar-{name}-mm").fill(figure)
        page.locator("#try-bar").click()
        expect(page.locator("#bar-said")).to_have_text(said)
        page.get_by_role("button", name="Back to the bar as it is").click()
        expect(page.locator("#bar-said")).to_be_empty()


def slide(page: Page, name: str, share: float) -> float:
    """Click on a slider at a share of its way, and return the figure that it then shows."""
    box = page.locator(f"#bar-{name}").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + share * box["width"], box["y"] + box["height"] / 2)
    return float(page.locator(f"#bar-{name}-mm").input_value())


@pytest.mark.slow
def test_a_bar_set_by_mouse_is_written_and_the_command_says_the_same_of_it(
    barred: Page, own: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    before, text = written_bar(own.folder), (own.folder / "plate.toml").read_text()
    open_task(barred, "Bar")
    height = slide(barred, "height", 0.45)
    assert height != 12
    barred.locator("#try-bar").click()
    expect(barred.locator("#bars")).to_be_visible()
    tried, stale = column(barred, 3), barred.locator("#bar-stale")
    expect(stale).to_be_hidden()
    barred.locator("#use-bar").click()
    barred.locator("#bar-height-mm").fill("0")
    barred.locator("#try-bar").click()
    expect(barred.locator("#bar-said")).to_contain_text("Height, mm: it is 0")
    expect(stale).to_contain_text("the bar that was tried last")
    expect(barred.locator("#write-bar")).to_be_disabled()
    barred.locator("#bar-height-mm").fill(f"{height:g}")
    expect(stale).to_be_hidden()
    barred.locator("#write-bar").click()
    expect(barred.locator(".done")).to_have_text("The bar is written into plate.toml.")
    expect(barred.locator("#notices")).to_be_empty()
    found = written_bar(own.folder)
    assert max(high for _, high in found.pop("height_mm")) == pytest.approx(height, abs=0.01)  # type: ignore[attr-defined]
    assert found == {name: value for name, value in before.items() if name != "height_mm"}
    comments = [line for line in text.splitlines() if line.startswith("#")]
    assert comments
    assert [
        line for line in (own.folder / "plate.toml").read_text().splitlines() if line.startswith("#")
    ] == comments
    asked = ("--height", f"{height:g}..14", "--steps", "2", "--json")
    row = bar_rows(capsys, str(own.folder), *asked)[0]
    assert [float(hz.removeprefix("~")) for hz in tried[:5]] == pytest.approx(
        [tone["hz"] for tone in row["modes"][:5]], abs=0.15
    )
    assert float(tried[-1]) == pytest.approx(row["mass_g"], abs=0.1)
    open_task(barred, "Modes")
    expect(barred.locator(".done")).to_have_count(0)
