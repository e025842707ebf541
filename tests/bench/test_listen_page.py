"""Listen on the page: the tones of the command for the same recording, a microphone that hears it, and the log."""

import json
import shutil
import time
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import TypedDict, cast

import pytest
from playwright.sync_api import Page, expect

from solver.bench.listen_task import checked_tones
from solver.cli import main
from solver.commands.tones import Json
from solver.core.errors import InputError
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import CASE, ROOT, WAIT_MS, RunningBench, cut_off_at_twice_the_size, open_task
from tests.bench.served import Served, serving
from tests.measured.demonstration_taps import HZ, RECORDING

pytestmark = pytest.mark.xdist_group("browser")


class TapJson(TypedDict):
    """A tone as ``platewright tap`` tells of it."""

    hz: float
    q: float
    mode: str | None


def command_tones(capsys: pytest.CaptureFixture[str], recording: Path, folder: Path) -> list[TapJson]:
    """Return the tones that the command finds in a recording."""
    capsys.readouterr()
    assert main(["tap", str(recording), "--plate", str(folder), "--json"]) == 0
    tones: list[TapJson] = json.loads(capsys.readouterr().out)["tones"]
    return tones


def check_shown(page: Page, tones: list[TapJson]) -> None:
    """Hold the table on the page against the tones of the command."""
    rows = page.locator("#heard-tones tbody tr")
    expect(rows).to_have_count(len(tones))
    assert page.locator("#heard-tones tbody th").all_inner_texts() == [f"{tone['hz']:.2f}" for tone in tones]
    qs = [float(row.locator("td").nth(1).inner_text()) for row in rows.all()]
    assert qs == pytest.approx([tone["q"] for tone in tones], abs=0.51)
    assert [row.locator("select").input_value() for row in rows.all()] == [t["mode"] or "" for t in tones]


def check_stays_until_left(page: Page, tones: list[TapJson]) -> None:
    """What was entered stays in sight, no more to be chosen, with a way to the Diary; then it is gone."""
    expect(page.locator("#heard-tones tbody tr")).to_have_count(len(tones))
    expect(page.locator("#heard-tones select, #enter-log")).to_have_count(0)
    last = page.locator("#heard-tones tbody tr").last
    assert last.locator("td").nth(3).inner_text() == "left out"
    assert (
        page.locator("#heard img").evaluate("picture => picture.decode().then(() => picture.naturalWidth)")
        > 300
    )
    expect_no_barrier(page)
    page.locator("#heard .done a").click()
    expect(page.locator("h2")).to_have_text("Diary")
    open_task(page, "Listen")
    expect(page.locator("#heard-tones, .done")).to_have_count(0)


def entries(folder: Path) -> set[Path]:
    return set((folder / "log").glob("*.toml"))


def entered(page: Page, folder: Path, before: set[Path]) -> dict[str, object]:
    """Return the one entry that the page has added."""
    expect(page.locator("#heard .done")).to_contain_text("Entered as log/")
    (path,) = entries(folder) - before
    return tomllib.loads(path.read_text())


@pytest.mark.slow
def test_a_file_by_mouse_has_the_tones_of_the_command_and_one_is_moved(
    page: Page, bench: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    tones = command_tones(capsys, RECORDING, bench.folder)
    before = entries(bench.folder)
    open_task(page, "Listen")
    page.locator("#recording").set_input_files(RECORDING)
    check_shown(page, tones)
    spectrum = page.locator("#heard img")
    assert spectrum.evaluate("picture => picture.decode().then(() => picture.naturalWidth)") > 300
    expect_no_barrier(page)
    assert cut_off_at_twice_the_size(page, ".scroll:has(#heard-tones)") <= 0
    two = page.get_by_label(f"Mode of {tones[1]['hz']:.1f} Hz")
    two.select_option("1")
    page.locator("#enter-log").click()
    expect(page.locator("#listen-said")).to_contain_text("Mode 1 stands at")
    assert entries(bench.folder) == before
    two.select_option("")
    page.get_by_label(f"Mode of {tones[-1]['hz']:.1f} Hz").select_option("out")
    page.locator("#mass_g").fill("66.42")
    page.locator("#enter-log").click()
    entry = entered(page, bench.folder, before)
    check_stays_until_left(page, tones)
    named = {tone["mode"]: round(tone["hz"], 2) for tone in tones if tone["mode"] and tone["mode"] != "2"}
    assert entry["modes_hz"] == named
    assert entry["tones_hz"] == [
        round(tone["hz"], 2) for k, tone in enumerate(tones[:-1]) if k == 1 or not tone["mode"]
    ]
    assert entry["mass_g"] == 66.42
    assert (bench.folder / str(entry["recording"])).read_bytes() == RECORDING.read_bytes()


def told(
    served: Served, method: str, path: str, question: Mapping[str, Json] | None = None
) -> dict[str, Json]:
    """Return what the bench answers of its plate; raises AssertionError if it refuses."""
    body = None if question is None else json.dumps(question).encode()
    status, said, _ = served.ask(method, f"/api/plates/{served.plate}{path}", body)
    assert status == 200, said
    return cast("dict[str, Json]", json.loads(said))


def listened(served: Served) -> tuple[str, dict[str, Json]]:
    """Bring the recording of the demonstration and listen to it; return its key, and what is told of it."""
    path = f"/api/plates/{served.plate}/brought?name=taps.flac"
    key = str(json.loads(served.ask("POST", path, RECORDING.read_bytes())[1])["key"])
    job = told(served, "POST", "/listen", {"mark": told(served, "GET", "")["mark"], "brought": key})
    while job["state"] in ("waiting", "working"):
        time.sleep(0.05)
        job = json.loads(served.ask("GET", f"/api/jobs/{job['key']}")[1])
    assert job["state"] == "done", job["said"]
    return key, cast("dict[str, Json]", job["result"])


@pytest.mark.slow
def test_the_plate_is_solved_once_for_many_recordings_and_entries(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / CASE
    shutil.copytree(ROOT / "cases" / CASE, folder)
    capsys.readouterr()
    assert main(["tap", str(RECORDING), "--plate", str(folder), "--json"]) == 0
    command: dict[str, Json] = json.loads(capsys.readouterr().out)
    del command["made_by"]  # for other programs; the page is this one
    with serving(tmp_path, folder) as served:
        plate = served.state.plates.find(served.plate)
        key, answer = listened(served)
        assert {name: answer[name] for name in command} == command
        solved, body = plate.solved, plate.read().plate
        modes: list[Json] = ["2", *["out"] * (len(HZ) - 1)]
        told(served, "POST", "/listen/log", {"mark": plate.read().mark, "brought": key, "modes": modes})
        assert len(plate.read().description.log) == len(entries(folder))
        assert listened(served)[1] == answer
        assert plate.read().plate is body
        assert plate.solved is solved
        readings = folder / "thickness.csv"
        readings.write_text(readings.read_text().replace(",2.55", ",2.65"))
        assert listened(served)[1]["tones"] != answer["tones"]
        assert plate.solved is not solved


@pytest.mark.slow
def test_the_microphone_by_keys_alone(
    page: Page, bench: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    before = entries(bench.folder)
    page.get_by_role("link", name="Listen").focus()
    page.keyboard.press("Enter")
    page.locator("#record").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#clock")).to_contain_text("7 s")
    expect_no_barrier(page)
    page.keyboard.press("Enter")
    expect(page.locator("#heard-tones")).to_be_visible(timeout=3 * WAIT_MS)
    shown = [float(text) for text in page.locator("#heard-tones tbody th").all_inner_texts()]
    page.locator("#enter-log").focus()
    page.keyboard.press("Enter")
    kept = bench.folder / str(entered(page, bench.folder, before)["recording"])
    assert kept.suffix == ".wav"
    told = [round(tone["hz"], 2) for tone in command_tones(capsys, kept, bench.folder)]
    assert shown == told
    assert sum(min(abs(hz - one) for one in shown) < 0.3 for hz in HZ) >= 6


@pytest.mark.slow
def test_what_is_no_recording_gets_a_sentence(page: Page, tmp_path: Path) -> None:
    files = {
        "empty.wav": (b"", "the file is empty"),
        "words.wav": (b"no sound at all" * 99, "it cannot be read as a recording"),
        "page.svg": (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "it cannot be read as a recording"),
        "large.wav": (bytes(60_000_001), "it has 60 MB; expected at most 60"),
    }
    open_task(page, "Listen")
    for name, (content, words) in files.items():
        (tmp_path / name).write_bytes(content)
        page.locator("#recording").set_input_files(tmp_path / name)
        expect(page.locator("#listen-said")).to_contain_text(words)
        assert str(tmp_path) not in page.locator("#listen-said").inner_text()
    expect(page.locator("#heard-tones")).to_have_count(0)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("chosen", "words"),
    [
        (("1",), "1 are given for 2 tones"),
        (("1", "1"), "Mode 1 stands at 80.0 and 160.0 Hz"),
        (("9", None), "Mode 9 is none of this plate's"),
        (("out", "out"), "Every tone is left out"),
    ],
)
def test_tones_that_cannot_be_entered_so(chosen: tuple[str | None, ...], words: str) -> None:
    with pytest.raises(InputError, match=words):
        checked_tones(chosen, (80.0, 160.0), {"1", "2"})
