"""A bench that runs, a browser before it, and a demonstration plate of one's own to work on."""

import json
import os
import re
import shutil
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Literal, TypedDict

import numpy as np
import pytest
import soundfile
from playwright.sync_api import Browser, ConsoleMessage, Page, ViewportSize, expect, sync_playwright

from solver.cli import main
from tests.measured.demonstration_taps import RATE, taps

ROOT = Path(__file__).parents[2]
CASE = "violin-top-finished"
CHROMIUM = os.environ.get("PLATEWRIGHT_CHROMIUM", shutil.which("chromium") or "/usr/bin/chromium")
WAIT_MS = 60_000
expect.set_options(timeout=WAIT_MS)
MOST_TABS = 150
SIZE: ViewportSize = {"width": 1366, "height": 768}


class ToneJson(TypedDict):
    """A tone as a command or the bench tells of it; not every key is in every answer."""

    order: int
    mode: str | None
    hz: float
    low_hz: float
    high_hz: float
    before_hz: float
    after_low_hz: float
    after_high_hz: float
    live_doubt_hz: float
    live_hz: float
    planned_hz: float
    clear: bool
    note: str
    cents: float
    hold_mm: list[list[float]]
    tap_mm: list[float]


class AnswerJson(TypedDict):
    """An answer about a plate; not every key is in every answer."""

    modes: list[ToneJson]
    removed_g: float
    thinnest_mm: float
    mass_g: float


class BarRowJson(TypedDict):
    """One bar as ``platewright bar`` tells of it."""

    modes: list[ToneJson]
    mass_g: float


@dataclass(frozen=True)
class RunningBench:
    """A bench as the command starts it: where it is, its key, a ticket to it, and the plate that it was started with."""

    address: str
    key: str
    ticket: str
    folder: Path
    state: Path
    process: "subprocess.Popen[str]"

    @property
    def port(self) -> int:
        return int(self.address.rpartition(":")[2])


def start_bench(folder: Path, state: Path, *more: str) -> RunningBench:
    """Start the command in a process of its own; ``state`` is where it remembers folders and port."""
    return _started(folder, state, ROOT, *more, str(folder))


def start_empty_bench(place: Path, state: Path) -> RunningBench:
    """Start the command in a folder without naming a plate."""
    return _started(place, state, place)


def _started(folder: Path, state: Path, where: Path, *arguments: str) -> RunningBench:
    process = subprocess.Popen(
        [sys.executable, "-m", "solver.cli", "bench", "--no-browser", *arguments],
        cwd=where,
        env={
            **os.environ,
            "XDG_STATE_HOME": str(state),
            "PYTHONUNBUFFERED": "1",
            "PYTHONPATH": str(ROOT),
        },
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    assert process.stdout is not None
    address, ticket = next_address(process)
    key = _exchanged(address, ticket)
    address, ticket = next_address(process)
    return RunningBench(address, key, ticket, folder, state, process)


def next_address(process: "subprocess.Popen[str]") -> tuple[str, str]:
    """Return where a bench is and the ticket to it, as it prints them next."""
    assert process.stdout is not None
    said: list[str] = []
    for line in process.stdout:
        said.append(line)
        if found := re.search(r"(http://127\.0\.0\.1:\d+)/#start=([\w-]+)", line):
            return found[1], found[2]
    raise AssertionError("".join(said))


def _exchanged(address: str, ticket: str) -> str:
    """Return the key of a bench for a ticket."""
    body = json.dumps({"ticket": ticket}).encode()
    with urllib.request.urlopen(urllib.request.Request(f"{address}/api/key", body), timeout=30) as answer:
        return str(json.load(answer)["key"])


def go_to(page: Page, bench: RunningBench) -> None:
    """Open the page of a bench in a browser that has its key."""
    page.add_init_script(f"localStorage.setItem('platewright-bench-key', '{bench.key}')")
    page.goto(bench.address)


def end(bench: RunningBench) -> str:
    """Stop a bench and return what it printed meanwhile."""
    bench.process.terminate()
    bench.process.wait(timeout=20)
    assert bench.process.stdout is not None
    return bench.process.stdout.read()  # communicate() would lose what came together with the first line


@contextmanager
def bench_on(place: Path, state: Path, case: str = CASE, *others: str) -> Iterator[RunningBench]:
    """Run a bench on a copy of a demonstration plate in ``place``, others lying beside it; it must end in peace."""
    for name in (case, *others):
        shutil.copytree(ROOT / "cases" / name, place / name)
    running = start_bench(place / case, state)
    try:
        yield running
    finally:
        said = end(running)
    assert "Traceback" not in said, said


@contextmanager
def window(
    browser: Browser, bench: RunningBench, scheme: Literal["light", "dark"] = "light", *allowed: str
) -> Iterator[Page]:
    """Open the page of a bench in a window of its own, with what the maker would allow it if asked."""
    page = browser.new_page(
        viewport=SIZE, reduced_motion="reduce", color_scheme=scheme, permissions=[*allowed]
    )
    page.set_default_timeout(WAIT_MS)
    page.on("filechooser", lambda _: None)  # asked for once and for all: asked for anew each time, some go by
    try:
        go_to(page, bench)
        yield page
    finally:
        page.close()


@pytest.fixture(scope="session")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBench]:
    place = tmp_path_factory.mktemp("bench")
    with bench_on(place, place / "state") as running:
        yield running


@pytest.fixture(scope="session")
def told_modes(bench: RunningBench) -> AnswerJson:
    """What ``platewright modes`` tells of the plate of the bench."""
    with redirect_stdout(StringIO()) as said:
        assert main(["modes", str(bench.folder), "--json"]) == 0
    answer: AnswerJson = json.loads(said.getvalue())
    return answer


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """A browser whose microphone hears the taps of the demonstration over and over."""
    if not Path(CHROMIUM).exists():
        pytest.skip(f"no Chromium at {CHROMIUM}: apt-get install chromium, or set PLATEWRIGHT_CHROMIUM")
    played = tmp_path_factory.mktemp("microphone") / "played.wav"
    soundfile.write(played, np.repeat(taps(), 6), 6 * RATE, subtype="PCM_16")
    heard = ("--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream")
    args = ["--no-sandbox", "--use-gl=angle", *heard, f"--use-file-for-fake-audio-capture={played}"]
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=CHROMIUM, args=args)
        yield opened
        opened.close()


@pytest.fixture
def page(browser: Browser, bench: RunningBench) -> Iterator[Page]:
    """The page of the bench with its plate solved; anything the browser complains of fails the test."""
    shown = browser.new_page(viewport=SIZE, reduced_motion="reduce")
    complaints: list[str] = []
    shown.on("pageerror", lambda error: complaints.append(str(error)))
    shown.on("console", lambda line: complaints.append(line.text) if _is_fault(line) else None)
    shown.set_default_timeout(WAIT_MS)
    go_to(shown, bench)
    yield shown
    shown.close()
    assert complaints == []


def _is_fault(line: ConsoleMessage) -> bool:
    """Tell whether the browser found fault with the page; that a question was refused is no fault."""
    return line.type == "error" and not line.text.startswith("Failed to load resource")


def open_task(page: Page, name: str) -> None:
    """Go to a task by its tab."""
    page.get_by_role("navigation").get_by_role("link", name=name).click()


def cut_off_at_twice_the_size(page: Page, selector: str) -> int:
    """How many of the page's pixels of something wide are out of sight where words have twice their size."""
    usual = page.viewport_size or SIZE
    page.set_viewport_size({"width": SIZE["width"] // 2, "height": SIZE["height"] // 2})
    beyond = page.locator(selector).evaluate("wide => wide.scrollWidth - wide.clientWidth")
    page.set_viewport_size(usual)
    return int(beyond)


def tab_to(page: Page, selector: str, key: str = "Tab") -> None:
    """Go to an element by the key that goes from one to the next, or to the one before, and by that alone."""
    for _ in range(MOST_TABS):
        if page.evaluate("selector => document.activeElement?.matches(selector) ?? false", selector):
            return
        page.keyboard.press(key)
    raise AssertionError(f"{selector} is not reached by {MOST_TABS} presses of {key}")


def command_json(capsys: pytest.CaptureFixture[str], *arguments: str) -> AnswerJson:
    """Return what a command answers in JSON."""
    capsys.readouterr()
    assert main(list(arguments)) == 0
    answer: AnswerJson = json.loads(capsys.readouterr().out)
    return answer


def bar_rows(capsys: pytest.CaptureFixture[str], *arguments: str) -> list[BarRowJson]:
    """Return the rows of ``platewright bar`` in JSON."""
    capsys.readouterr()
    assert main(["bar", *arguments]) == 0
    rows: list[BarRowJson] = json.loads(capsys.readouterr().out)["rows"]
    return rows
