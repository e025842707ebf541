"""The page as a whole: the first page, its size, its keys, and a server that goes and comes back."""

import shutil
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from solver.cli import main
from solver.plate_folder.read import read_plate
from solver.plate_folder.trials import read_trials
from tests.bench.axe import expect_no_barrier
from tests.bench.by_keys import expect_all_reached_and_seen
from tests.bench.conftest import (
    ROOT,
    SIZE,
    RunningBench,
    end,
    go_to,
    open_task,
    start_bench,
    start_empty_bench,
)
from tests.plate_folders import contents

pytestmark = pytest.mark.xdist_group("browser")


def test_first_page_offers_plates_and_makes_a_new_one(page: Page) -> None:
    page.get_by_role("button", name="Plates").click()
    expect(page.get_by_role("heading", name="On the bench")).to_be_visible()
    expect(page.locator("#work")).to_contain_text("Top for the autumn violin, holes cut and bar fitted")
    expect_no_barrier(page)
    page.locator("#new-name").fill("../elsewhere")
    page.locator("#new-like").select_option("panel")
    page.get_by_role("button", name="Make it").click()
    expect(page.get_by_role("alert")).to_contain_text("A plate cannot be called")


def test_the_plate_is_whole_on_a_small_laptop_and_words_stay_at_twice_their_size(page: Page) -> None:
    open_task(page, "Modes")
    expect(page.locator("#tones")).to_be_visible()
    beyond = page.evaluate(
        """() => {
            const plate = document.getElementById("plate"), whole = document.documentElement;
            const over = plate.scrollHeight - plate.clientHeight;
            return [over, whole.scrollHeight - innerHeight, whole.scrollWidth - innerWidth];
        }"""
    )
    assert max(beyond) <= 0
    # what a browser does at 200 %: half as many pixels for the page
    page.set_viewport_size({"width": SIZE["width"] // 2, "height": SIZE["height"] // 2})
    expect(page.locator("#ink")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    page.get_by_role("link", name="Thin").click()
    expect(page.locator("#cut")).to_be_attached()
    page.locator("#cut").scroll_into_view_if_needed()
    expect(page.locator("#cut")).to_be_in_viewport()
    expect_no_barrier(page)


def test_everything_is_reached_by_keys_and_focus_is_seen(page: Page) -> None:
    open_task(page, "Thin")
    expect(page.locator("#cut")).to_be_visible()
    expect(page.locator("#solving")).to_be_hidden()
    expect(page.locator("#figures")).to_contain_text("mm")
    expect_all_reached_and_seen(page)


def test_the_other_side_is_the_mirror_image_in_words(page: Page) -> None:
    expect(page.locator("#ink")).to_be_visible()
    page.locator("#ink").focus()
    page.keyboard.press("Shift+ArrowRight")
    inside = page.locator("#here").inner_text()
    page.get_by_label("outside").check(force=True)
    swap = {"left": "right", "right": "left"}
    words = [swap.get(word, word) for word in inside.split(" ")]
    expect(page.locator("#here")).to_have_text(" ".join(words))


@pytest.fixture
def short_lived(tmp_path: Path) -> Iterator[RunningBench]:
    shutil.copytree(ROOT / "cases" / "spruce-blank", tmp_path / "blank")
    running = start_bench(tmp_path / "blank", tmp_path / "state")
    yield running
    running.process.kill()
    running.process.communicate()


@pytest.mark.slow
def test_a_killed_server_leaves_the_folder_whole_and_is_found_again(
    short_lived: RunningBench, browser: Browser
) -> None:
    page = browser.new_context(viewport=SIZE, reduced_motion="reduce").new_page()
    go_to(page, short_lived)
    open_task(page, "Thin")
    expect(page.locator("#cut")).to_be_visible()
    page.locator("#ink").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#undo")).to_be_enabled()
    short_lived.process.send_signal(signal.SIGKILL)
    short_lived.process.wait()
    read_plate(short_lived.folder)
    (trial,) = read_trials(short_lived.folder).values()
    assert len(trial.strokes) == 1
    assert [path.name for path in short_lived.folder.rglob(".*")] == []
    page.locator("#cut").fill("0.13")
    page.locator("#trial-name").fill("half typed")
    page.locator("#ink").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#notices")).to_contain_text("The bench has stopped")
    again = start_bench(short_lived.folder, short_lived.state)
    try:
        assert again.address == short_lived.address
        expect(page.locator("#notices")).to_contain_text("Open the address that the command printed")
        expect(page.locator("#notices")).not_to_contain_text("The bench has stopped")
        window = page.context.new_page()  # the one that the command opens
        window.goto(f"{again.address}/#start={again.ticket}")
        expect(page.locator("#notices")).to_be_empty()
        expect(page.locator("#trial option:checked")).to_have_text(trial.name)
        expect(page.locator("#cut")).to_have_value("0.13")
        expect(page.locator("#trial-name")).to_have_value("half typed")
        expect(page.locator("#solving")).to_be_hidden()
        page.locator("#ink").focus()
        page.keyboard.press("Enter")
        expect(page.locator("#figures")).to_contain_text("0.18 mm")  # 0.05 before, and 0.13 now
        expect(page.locator("#said")).to_be_empty()
        assert len(next(iter(read_trials(short_lived.folder).values())).strokes) == 2
    finally:
        page.context.close()
        assert "Traceback" not in end(again)


@pytest.mark.slow
def test_a_folder_that_cannot_be_read_is_said_in_one_sentence(tmp_path: Path, browser: Browser) -> None:
    shutil.copytree(ROOT / "cases" / "spruce-blank", tmp_path / "blank")
    described = tmp_path / "blank" / "plate.toml"
    described.write_text(described.read_text().replace("format = 1", "format = 9"))
    running = start_bench(tmp_path / "blank", tmp_path / "state")
    page = browser.new_page(viewport=SIZE)
    try:
        go_to(page, running)
        expect(page.locator("#notices")).to_contain_text("plate.toml: format is 9; expected 1.")
        described.write_text(described.read_text().replace("format = 9", "format = 1"))
        page.get_by_role("button", name="Try again").click()
        expect(page.locator("#tones")).to_be_visible()
    finally:
        page.close()
        end(running)


@pytest.mark.slow
@pytest.mark.parametrize("by", ["mouse", "keys"])
def test_a_new_plate_is_the_one_that_the_command_makes(by: str, tmp_path: Path, browser: Browser) -> None:
    (tmp_path / "here").mkdir()
    told = tmp_path / "told"
    assert main(["new", str(told), "--like", "viola-back", "--length", "402"]) == 0
    running = start_empty_bench(tmp_path / "here", tmp_path / "state")
    page = browser.new_page(viewport=SIZE, reduced_motion="reduce")
    try:
        go_to(page, running)
        name, like, length = (page.locator(f"#new-{field}") for field in ("name", "like", "length"))
        if by == "mouse":
            name.fill("told")
            like.select_option("viola-back")
            length.fill("402")
            page.get_by_role("button", name="Make it").click()
        else:
            name.focus()
            page.keyboard.type("told")
            page.keyboard.press("Tab")
            page.keyboard.type("viola back")
            page.keyboard.press("Tab")
            page.keyboard.type("402")
            page.keyboard.press("Enter")
        expect(page.locator("#verdict")).to_have_text("This is what the folder says.")
        made = {path.name: path.read_bytes() for path in (tmp_path / "here" / "told").glob("*.*")}
        assert made == {path.name: path.read_bytes() for path in told.glob("*.*")}
    finally:
        page.close()
        assert "Traceback" not in end(running)


@pytest.mark.slow
def test_a_decimal_comma_is_a_point(page: Page) -> None:
    open_task(page, "Thin")
    cut = page.locator("#cut")
    cut.press("Control+a")
    cut.press_sequentially("0,25")
    expect(cut).to_have_value("0.25")


@pytest.mark.slow
def test_from_an_empty_folder_to_a_plate_of_ones_own_and_a_copy_of_an_invented_one(
    tmp_path: Path, browser: Browser
) -> None:
    place, untouched = tmp_path / "bench", contents(ROOT / "cases" / "spruce-blank")
    place.mkdir()
    running = start_empty_bench(place, tmp_path / "state")
    page = browser.new_page(viewport=SIZE)
    try:
        go_to(page, running)
        page.get_by_label("Name").fill("Spring top")
        page.get_by_label("like a usual").select_option("panel")
        page.get_by_label("Length in mm").press_sequentially("35,5")
        page.get_by_role("button", name="Make it").click()
        expect(page.get_by_role("alert")).to_contain_text("The length is 35.5 mm for a panel")
        page.get_by_label("Length in mm").fill("350")
        expect(page.get_by_role("alert")).to_be_empty()
        page.get_by_role("button", name="Make it").click()
        expect(page.locator("#title")).to_have_text("Spring top")
        expect(page.get_by_role("heading", name="Describe")).to_be_visible()
        page.get_by_role("button", name="Plates").click()
        page.locator("li", has_text="spruce-blank").get_by_role("button").click()
        expect(page.locator("#subtitle")).to_have_text(str(place / "spruce-blank"))
    finally:
        page.close()
        end(running)
    assert sorted(path.name for path in place.iterdir()) == ["Spring top", "spruce-blank"]
    assert contents(ROOT / "cases" / "spruce-blank") == untouched
