"""Diary on the page: the command's log, entries by mouse and by keys, slips asked about, corrections beside the old."""

import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TypedDict

import pytest
from playwright.sync_api import Browser, Page, expect

from solver.cli import main
from solver.plate_folder.description import read_description, read_entries
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import WAIT_MS, RunningBench, bench_on, open_task, tab_to, window
from tests.measured.demonstration_taps import RECORDING

pytestmark = pytest.mark.xdist_group("browser")

CORNER = """async image => {
    await image.decode();
    const canvas = document.createElement("canvas");
    const context = canvas.getContext("2d");
    context.drawImage(image, 0, 0);
    const [red, green, blue] = context.getImageData(2, 2, 1, 1).data;
    return "#" + [red, green, blue].map((part) => part.toString(16).padStart(2, "0")).join("");
}"""
"""The colour in the corner of a picture."""


class ReadingJson(TypedDict):
    """A tone of an entry as ``platewright log`` tells of it."""

    hz: float
    low_hz: float | None
    high_hz: float | None


class EntryJson(TypedDict):
    """An entry as ``platewright log`` tells of it."""

    entry: str
    mass_g: float | None
    modes: list[ReadingJson]
    tones: list[ReadingJson]


@pytest.fixture
def diary(tmp_path: Path) -> Iterator[RunningBench]:
    with bench_on(tmp_path, tmp_path / "state") as running:
        yield running


@pytest.fixture
def written(diary: RunningBench, browser: Browser) -> Iterator[Page]:
    with window(browser, diary) as page:
        yield page


def log_json(capsys: pytest.CaptureFixture[str], folder: Path) -> list[EntryJson]:
    """Return the entries of ``platewright log --show --json``."""
    capsys.readouterr()
    assert main(["log", str(folder), "--show", "--json"]) == 0
    entries: list[EntryJson] = json.loads(capsys.readouterr().out)["entries"]
    return entries


def expect_log(page: Page, entries: list[EntryJson]) -> None:
    """Expect the table to hold mass, tones and their bands as the command tells them, to the figures shown."""
    expect(page.locator("#entries tbody")).to_have_count(len(entries))
    for entry in entries:
        body = page.locator(f'[data-entry="{entry["entry"].removesuffix(".toml")}"]')
        readings = [*entry["modes"], *entry["tones"]]
        rows = [row.locator("td").all_inner_texts() for row in body.locator("tr").all()]
        assert rows[0][0] == ("" if entry["mass_g"] is None else f"{entry['mass_g']:.1f}")
        for cells, reading in zip(rows, readings, strict=True):
            assert cells[3] == f"{reading['hz']:.1f}"
            assert reading["low_hz"] is not None
            assert reading["high_hz"] is not None
            band = [f"{reading['low_hz']:.1f}", f"{reading['high_hz']:.1f}"]
            assert cells[5] == (band[0] if band[0] == band[1] else " to ".join(band))


@pytest.mark.slow
def test_the_log_is_that_of_the_command_and_a_slip_is_asked_about(
    written: Page, diary: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    open_task(written, "Diary")
    expect(written.locator("#diary-chart img")).to_be_visible()
    expect_log(written, log_json(capsys, diary.folder))
    drawn = written.locator("#diary-chart img").evaluate("image => image.naturalWidth / image.naturalHeight")
    assert 0.5 < drawn < 2.0  # a picture, not a broken one
    expect_no_barrier(written)
    before = read_entries(diary.folder)
    written.locator("#entry-mass").fill("6,48")
    written.locator("#entry-mode-5").fill("358")
    written.locator("#enter").click()
    expect(written.locator("#entry-doubts")).to_contain_text("If a digit is missing, write 64.8.")
    expect_no_barrier(written)
    assert read_entries(diary.folder) == before
    written.locator("#entry-mass").fill("64,8")
    written.locator("#enter").click()
    expect(written.locator("#diary-said")).to_contain_text("Entered as log/")
    newest = [*read_description(diary.folder).log.values()][-1]
    assert (newest.mass_g, newest.modes_hz) == (64.8, {"5": 358.0})


@pytest.mark.slow
def test_an_entry_and_its_correction_by_keys_alone(
    written: Page, diary: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    written.get_by_role("link", name="Diary").focus()
    written.keyboard.press("Enter")
    expect(written.locator("#entry-mass")).to_be_visible()
    written.locator("#entry-mass").focus()
    for text in ("64.9", "20", "48", "86", "152"):
        written.keyboard.type(text)
        written.keyboard.press("Tab")
    written.locator("#entry-note").focus()
    written.keyboard.type("a hair off the bar")
    written.locator("#enter").focus()
    written.keyboard.press("Enter")
    expect(written.locator("#diary-said")).to_contain_text("Entered as log/")
    stamp = [*read_description(diary.folder).log][-1].removesuffix(".toml")
    written.get_by_role("button", name=f"Correct the entry of {stamp}").focus()
    written.keyboard.press("Enter")
    expect(written.locator("#entry-mass")).to_be_focused()
    written.keyboard.press("Control+A")
    written.keyboard.type("64.7")
    written.locator("#entry-mode-2").focus()
    written.keyboard.press("Control+A")
    written.keyboard.press("Delete")
    written.keyboard.press("Enter")
    expect(written.locator("#entries")).to_contain_text("a correction")
    entries = read_entries(diary.folder)
    old = entries[f"{stamp}.toml"]
    new = next(entry for entry in entries.values() if entry.corrects == stamp)
    assert (old.mass_g, old.modes_hz) == (64.9, {"1": 86.0, "2": 152.0})
    assert (new.mass_g, new.modes_hz, new.taken, new.note) == (64.7, {"1": 86.0}, old.taken, old.note)
    expect(written.locator("#entries")).to_contain_text("64.7")
    entries_told = log_json(capsys, diary.folder)
    expect_log(written, [entry for entry in entries_told if entry["entry"] != f"{stamp}.toml"])


@pytest.mark.slow
def test_what_cannot_be_entered_is_said_in_the_words_of_the_form(written: Page, diary: RunningBench) -> None:
    before = read_entries(diary.folder)
    open_task(written, "Diary")
    written.locator("#enter").click()
    expect(written.locator("#diary-said")).to_contain_text("There is nothing to enter")
    written.locator("#entry-mass").fill("65 ounces")
    written.locator("#enter").click()
    expect(written.locator("#diary-said")).to_have_text(
        "Mass is '65 ounces'; expected a number in g. Write for instance Mass 71.4."
    )
    written.locator("#entry-mass").fill("65")
    path = diary.folder / "plate.toml"
    path.write_text(path.read_text() + "\n# from elsewhere\n")
    written.locator("#enter").click()
    expect(written.locator("#diary-said")).to_contain_text("changed by something else")
    assert read_entries(diary.folder) == before


@pytest.mark.slow
def test_photo_and_recording_go_with_an_entry_by_mouse_and_by_keys(
    written: Page, diary: RunningBench, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    photo = tmp_path / "powder on top.png"
    photo.write_bytes((diary.folder / "plate.toml").read_bytes())  # what it holds does not matter to the log
    open_task(written, "Diary")
    written.locator("#entry-note").fill("powder")
    written.locator("#entry-mode-5").fill("356")
    written.locator("#entry-temperature").fill("20")
    written.locator("#entry-humidity").fill("50")
    for kind, path in (("photo", photo), ("recording", RECORDING)):
        with written.expect_file_chooser() as asked:
            written.locator(f"#entry-{kind}").click()
        asked.value.set_files(path)
    written.locator("#enter").click()
    expect(written.locator("#diary-said")).to_contain_text("Entered as log/")
    stamp, entry = [*read_description(diary.folder).log.items()][-1]
    assert (entry.photo, entry.recording) == ("photos/powder on top.png", f"recordings/{RECORDING.name}")
    assert (diary.folder / "photos/powder on top.png").read_bytes() == photo.read_bytes()
    assert (diary.folder / "recordings" / RECORDING.name).read_bytes() == RECORDING.read_bytes()
    body = written.locator(f'[data-entry="{stamp.removesuffix(".toml")}"]')
    expect(body).to_contain_text("photos/powder on top.png")
    tab_to(written, f'[data-entry="{stamp.removesuffix(".toml")}"] button')
    written.keyboard.press("Enter")
    tab_to(written, "#entry-recording")
    other = tmp_path / "again.flac"
    shutil.copyfile(RECORDING, other)
    with written.expect_file_chooser() as asked:
        written.keyboard.press("Enter")
    asked.value.set_files(other)
    tab_to(written, "#without-photo")
    written.keyboard.press("Space")
    expect_no_barrier(written)
    tab_to(written, "#enter")
    written.keyboard.press("Enter")
    expect(written.locator("#entries")).to_contain_text("a correction", timeout=3 * WAIT_MS)
    corrected = [*read_description(diary.folder).log.values()][-1]
    assert (corrected.photo, corrected.recording) == (None, "recordings/again.flac")
    assert corrected.note == "powder"
    assert photo.name in {path.name for path in (diary.folder / "photos").iterdir()}  # nothing is rubbed out
    expect_log(written, [one for one in log_json(capsys, diary.folder) if one["entry"] != stamp])


@pytest.mark.slow
def test_the_chart_is_dark_where_the_screen_is(diary: RunningBench, browser: Browser) -> None:
    with window(browser, diary, "dark") as page:
        open_task(page, "Diary")
        chart = page.locator("#diary-chart img")
        expect(chart).to_be_visible()
        dark = chart.evaluate("image => image.currentSrc")
        ground = page.evaluate(
            "getComputedStyle(document.documentElement).getPropertyValue('--sheet').trim()"
        )
        assert chart.evaluate(CORNER) == ground
        page.emulate_media(color_scheme="light")
        page.wait_for_function(
            "media => document.querySelector('#diary-chart img').currentSrc !== media", arg=dark
        )
        assert chart.evaluate(CORNER) == "#ffffff"
