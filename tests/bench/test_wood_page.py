"""Wood and weather on the page: the command's figures for the same act, and a wood that is kept only when asked to."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TypedDict

import pytest
from playwright.sync_api import Browser, Page, expect

from solver.cli import main
from solver.plate_folder.description import read_description
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import RunningBench, bench_on, open_task, window

pytestmark = pytest.mark.xdist_group("browser")

EXCHANGED = "modes_hz = { 1 = 149.5, 2 = 87.0, 5 = 352.5 }"


class ConstantJson(TypedDict):
    """A constant of the wood as ``platewright fit`` tells of it."""

    value: float
    low: float
    high: float
    before: float
    in_words: str


class ToneJson(TypedDict):
    """A tone as the commands tell of it; not every key is in every answer."""

    measured_hz: float
    fitted_hz: float
    hz: float
    low_hz: float
    high_hz: float


class AnswerJson(TypedDict):
    """An answer of ``fit`` or ``climate``; not every key is in either."""

    wood: dict[str, ConstantJson]
    modes: list[ToneJson]
    doubts: list[dict[str, str]]


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[RunningBench]:
    with bench_on(tmp_path, tmp_path / "state") as running:
        yield running


@pytest.fixture
def wooden(kept: RunningBench, browser: Browser) -> Iterator[Page]:
    with window(browser, kept) as page:
        yield page


def answer_of(capsys: pytest.CaptureFixture[str], *arguments: str) -> AnswerJson:
    """Return what a command answers in JSON."""
    capsys.readouterr()
    assert main([*arguments, "--json"]) == 0
    answer: AnswerJson = json.loads(capsys.readouterr().out)
    return answer


def rows_of(page: Page, table: str) -> list[list[str]]:
    """The cells of a table, row by row, without the row's heading."""
    return [row.locator("td").all_inner_texts() for row in page.locator(f"#{table} tbody tr").all()]


def expect_fit(page: Page, answer: AnswerJson) -> None:
    """Expect the page to show the constants with their intervals and the tones as the command tells them."""
    rows = rows_of(page, "constants")
    for cells, (name, constant) in zip(rows, answer["wood"].items(), strict=True):
        digits = 0 if name.startswith("density") else 3
        figures = (constant["before"], constant["value"], constant["low"], constant["high"])
        assert [float(cell) for cell in cells[:4]] == pytest.approx(figures, abs=0.51 * 10**-digits)
        assert cells[4].startswith(constant["in_words"])
    for cells, tone in zip(rows_of(page, "residuals"), answer["modes"], strict=True):
        assert cells[2:4] == [f"{tone['measured_hz']:.1f}", f"{tone['fitted_hz']:.1f}"]


def expect_bands(page: Page, told: AnswerJson) -> None:
    """Expect the tones of the other room and their bands as the command tells them."""
    expect(page.locator("#weather-tones")).to_be_visible()
    shown = [[float(cell) for cell in cells[:3]] for cells in rows_of(page, "weather-tones")]
    figures = [[tone["hz"], tone["low_hz"], tone["high_hz"]] for tone in told["modes"]]
    assert shown == [pytest.approx(row, abs=0.051) for row in figures]


@pytest.mark.slow
def test_the_wood_found_by_mouse_is_the_command_s_and_kept_only_when_asked_to(
    wooden: Page, kept: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (kept.folder / "plate.toml").read_bytes()
    answer = answer_of(capsys, "fit", str(kept.folder))
    open_task(wooden, "Wood and weather")
    wooden.locator("#find-wood").click()
    expect(wooden.locator("#constants")).to_be_visible()
    expect_fit(wooden, answer)
    expect(wooden.locator("#found")).not_to_contain_text("null")
    expect_no_barrier(wooden)
    assert (kept.folder / "plate.toml").read_bytes() == before
    for doubt in wooden.get_by_label("I looked at it.", exact=True).all():
        doubt.check()
    wooden.locator("#keep-wood").click()
    expect(wooden.locator("#fit-said")).to_contain_text("Kept in plate.toml")
    after = (kept.folder / "plate.toml").read_bytes()
    assert after.startswith(before)
    record = read_description(kept.folder).table.fit_that_holds
    assert record is not None
    assert pytest.approx(answer["wood"]["EL_GPa"]["value"], rel=1e-4) == record.EL_GPa


@pytest.mark.slow
def test_by_keys_alone_a_doubt_is_looked_at_and_a_conflict_is_noticed(
    wooden: Page, kept: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    entry = kept.folder / "log" / "2026-08-17T181000.toml"
    entry.write_text(entry.read_text().replace("modes_hz = { 1 = 87.0, 2 = 149.5, 5 = 352.5 }", EXCHANGED))
    wooden.reload()
    answer = answer_of(capsys, "fit", str(kept.folder))
    assert any("look exchanged" in doubt["in_words"] for doubt in answer["doubts"])
    wooden.get_by_role("link", name="Wood and weather").focus()
    wooden.keyboard.press("Enter")
    wooden.locator("#find-wood").focus()
    wooden.keyboard.press("Enter")
    expect(wooden.locator("#constants")).to_be_visible()
    expect_fit(wooden, answer)
    assert wooden.locator("#doubts .doubt p").all_inner_texts() == [
        doubt["in_words"] for doubt in answer["doubts"]
    ]
    expect(wooden.locator("#keep-wood")).to_be_disabled()
    for number in range(len(answer["doubts"])):
        wooden.locator(f"#doubt-{number}").focus()
        wooden.keyboard.press("Space")
    expect(wooden.locator("#keep-wood")).to_be_enabled()
    path = kept.folder / "plate.toml"
    path.write_text(path.read_text() + "\n# from elsewhere\n")
    wooden.keyboard.press("Tab")
    wooden.keyboard.press("Enter")
    expect(wooden.locator("#fit-said")).to_contain_text("changed by something else")
    assert read_description(kept.folder).table.fit_that_holds is None


@pytest.mark.slow
def test_another_room_by_keys_alone_has_the_bands_of_the_command(
    wooden: Page, kept: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    told = answer_of(capsys, "climate", str(kept.folder), "--to", "25,70")
    wooden.get_by_role("link", name="Wood and weather").focus()
    wooden.keyboard.press("Enter")
    wooden.locator("#to-warm").focus()
    wooden.keyboard.type("77")
    wooden.keyboard.press("Tab")
    wooden.keyboard.type("70")
    wooden.keyboard.press("Enter")
    expect(wooden.locator("#weather-said")).to_contain_text("If that was degrees Fahrenheit, write 25")
    wooden.locator("#to-warm").focus()
    wooden.keyboard.press("Control+A")
    wooden.keyboard.type("25,0")
    wooden.keyboard.press("Enter")
    expect_bands(wooden, told)
    expect_no_barrier(wooden)


@pytest.mark.slow
def test_another_room_by_mouse_has_the_bands_of_the_command(
    wooden: Page, kept: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    told = answer_of(capsys, "climate", str(kept.folder), "--to", "15,30")
    open_task(wooden, "Wood and weather")
    wooden.locator("#to-warm").fill("15")
    wooden.locator("#to-damp").fill("30")
    wooden.locator("#tell-weather").click()
    expect_bands(wooden, told)
