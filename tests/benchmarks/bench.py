"""The bench in the browser by the clock: start, first tones, strokes to changed text, memory.

    python -m tests.benchmarks.bench [STROKES]

In the same browser as the tests, on the finished top, with STROKES (60) strokes by mouse for each setting. A stroke is
timed in the page itself, from the pointer's coming down to the first picture after a figure of the page has changed. Beside
it stand the bare round trip of a question that computes nothing, and the time between two pictures of an idle page: what
the machine takes in any case.
"""

import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.bench.conftest import (
    CASE,
    CHROMIUM,
    ROOT,
    SIZE,
    WAIT_MS,
    RunningBench,
    end,
    go_to,
    open_task,
    start_bench,
)

GOAL_STROKE_MS, GOAL_BYTE_S, GOAL_MODES_S, GOAL_MEMORY_MB = 50, 1.0, 4.0, 400

TIMED = """() => {
    const again = "strokes" in window;
    window.strokes = [];
    if (again) return;
    let down = null;
    addEventListener("pointerdown", (event) => { down = performance.now(); }, true);
    new MutationObserver(() => {
        if (down === null) return;
        const began = down;
        down = null;
        requestAnimationFrame(() => setTimeout(() => window.strokes.push(performance.now() - began)));
    }).observe(document.querySelector("#work"), { subtree: true, characterData: true, childList: true });
}"""
ROUND_TRIPS = """async () => {
    const spent = [], headers = { "x-bench-key": localStorage.getItem("platewright-bench-key") };
    for (let k = 0; k < 60; k++) {
        const began = performance.now();
        await (await fetch("/api/alive", { headers })).json();
        spent.push(performance.now() - began);
    }
    return spent;
}"""
FRAMES = """() => new Promise((done) => {
    const at = [];
    const tick = (now) => {
        at.push(now);
        if (at.length < 60) requestAnimationFrame(tick);
        else done(at.slice(1).map((t, k) => t - at[k]));
    };
    requestAnimationFrame(tick);
})"""


def quantiles(milliseconds: list[float]) -> str:
    """Median and 95th percentile in words."""
    ranked = sorted(milliseconds)
    return f"median {statistics.median(ranked):.0f} ms, 95th percentile {ranked[int(0.95 * (len(ranked) - 1))]:.0f} ms"


def memory_mb(process_id: int) -> tuple[float, float]:
    """Memory of a process now and at its highest."""
    lines = Path(f"/proc/{process_id}/status").read_text().splitlines()
    held = {
        line.split(":")[0]: float(line.split()[1]) / 1024
        for line in lines
        if line.startswith(("VmRSS", "VmHWM"))
    }
    return held["VmRSS"], held["VmHWM"]


def time_strokes(page: Page, count: int, moving: bool) -> list[float]:
    """Make strokes with the shape moving or still and return how long the text took to follow each."""
    pause = page.locator(".shape .pause")
    if (pause.inner_text() == "Stop") != moving:
        pause.click()
    page.evaluate(TIMED)
    box = page.locator("#ink").bounding_box()
    assert box is not None
    for k in range(count):
        x = box["x"] + (0.44 + 0.02 * (k % 10)) * box["width"]
        y = box["y"] + (0.68 + 0.02 * (k % 7)) * box["height"]
        page.mouse.move(x, y)
        before = page.evaluate("window.strokes.length")
        page.mouse.down()
        page.mouse.move(x + 12, y + 8, steps=3)
        page.mouse.up()
        page.wait_for_function("(before) => window.strokes.length > before", arg=before)
        page.wait_for_timeout(120)
    spent: list[float] = page.evaluate("window.strokes")
    return spent


def report(bench: RunningBench, count: int) -> None:
    """Open the page and print everything."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_page(viewport=SIZE)
        page.set_default_timeout(WAIT_MS)
        opened = time.perf_counter()
        go_to(page, bench)
        first = page.evaluate("performance.getEntriesByType('navigation')[0].responseStart") / 1000
        print(f"page asked for to first byte: {first:.3f} s")
        page.locator("#tones").wait_for()
        print(f"page opened to first tones: {time.perf_counter() - opened:.2f} s (goal {GOAL_MODES_S} s)")
        open_task(page, "Thin")
        page.locator("#cut").wait_for()
        print(f"page opened to a scraper that cuts: {time.perf_counter() - opened:.2f} s")
        page.locator("#solving").wait_for(state="hidden")
        page.locator("#cut").fill("0.05")  # enough that every touch changes a figure
        print(f"a question that computes nothing: {quantiles(page.evaluate(ROUND_TRIPS))}")
        print(f"from picture to picture of the idle page: {quantiles(page.evaluate(FRAMES))}")
        for moving in (False, True):
            spent = time_strokes(page, count, moving)
            words = "moving" if moving else "still"
            print(
                f"stroke to text, shape {words}: {quantiles(spent)} over {len(spent)} (goal {GOAL_STROKE_MS} ms)"
            )
        browser.close()
    now, highest = memory_mb(bench.process.pid)
    print(f"memory of the server: {now:.0f} MB, at its highest {highest:.0f} MB (goal {GOAL_MEMORY_MB} MB)")


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    with tempfile.TemporaryDirectory() as place:
        shutil.copytree(ROOT / "cases" / CASE, Path(place) / CASE)
        began = time.perf_counter()
        bench = start_bench(Path(place) / CASE, Path(place) / "state")
        print(
            f"command to printed address: {time.perf_counter() - began:.2f} s (goal for the first byte {GOAL_BYTE_S} s)"
        )
        try:
            report(bench, count)
        finally:
            end(bench)


if __name__ == "__main__":
    main()
