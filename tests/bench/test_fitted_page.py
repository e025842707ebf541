"""The page before a plate whose wood was fitted: every tone with its interval, as the commands print it."""

import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from solver.cli import main
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import (
    CASE,
    ROOT,
    RunningBench,
    ToneJson,
    bar_rows,
    command_json,
    end,
    open_task,
    start_bench,
    window,
)

pytestmark = [pytest.mark.xdist_group("browser"), pytest.mark.slow]


@pytest.fixture(scope="module")
def fitted_bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBench]:
    place = tmp_path_factory.mktemp("fitted")
    shutil.copytree(ROOT / "cases" / CASE, place / CASE)
    assert main(["fit", str(place / CASE), "--write"]) == 0
    running = start_bench(place / CASE, place / "state")
    yield running
    assert "Traceback" not in end(running)


@pytest.fixture
def fitted_page(browser: Browser, fitted_bench: RunningBench) -> Iterator[Page]:
    with window(browser, fitted_bench) as page:
        yield page


def interval(tone: ToneJson) -> str:
    return f"{tone['low_hz']:.1f} to {tone['high_hz']:.1f}"


def test_modes_and_thin_show_the_intervals_of_the_command(
    fitted_page: Page, fitted_bench: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    tones = command_json(capsys, "modes", str(fitted_bench.folder), "--json")["modes"]
    for task, near in (("Modes", 0.0), ("Thin", 0.1)):
        open_task(fitted_page, task)
        if task == "Thin":
            expect(fitted_page.locator("#figures")).to_be_visible()
        expect(fitted_page.locator("#tones caption")).to_contain_text("95 %")
        for tone in tones:
            cells = fitted_page.locator(f"#tones tr[data-order='{tone['order']}'] td").all_inner_texts()
            assert float(cells[0]) == pytest.approx(tone["hz"], abs=near + 0.05)
            shown = [float(word) for word in cells[1].split(" to ")]
            assert shown == pytest.approx([tone["low_hz"], tone["high_hz"]], abs=near + 0.05)
        expect_no_barrier(fitted_page)


def test_bars_have_the_intervals_of_the_command(
    fitted_page: Page, fitted_bench: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ("--height", "10..12", "--steps", "2", "--json")
    lower, present = bar_rows(capsys, str(fitted_bench.folder), *asked)
    open_task(fitted_page, "Bar")
    fitted_page.locator("#bar-height-mm").fill("10")
    fitted_page.locator("#try-bar").click()
    expect(fitted_page.locator("#bars")).to_be_visible()
    for number, row in ((2, present), (3, lower)):
        cells = fitted_page.locator(f"#bars tbody tr td:nth-of-type({number})").all_inner_texts()
        for k, tone in enumerate(present["modes"]):
            if tone["mode"]:
                match = next(one for one in row["modes"] if one["mode"] == tone["mode"])
                words = cells[k].split()
                assert words[0].removeprefix("~") == f"{match['hz']:.1f}"
                assert " ".join(words[1:]) == interval(match)
    expect_no_barrier(fitted_page)
