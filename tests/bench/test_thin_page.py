"""Thin on the page: the command's figures for a cut, a full solve's for a stroke; trials, undo, other windows."""

import re
import shutil
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, Route, expect

from meshes.removal import Stroke
from solver.core.units import GRAM, MM
from solver.modal.modes import solve_modes
from solver.plate.thinning import thinned
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_plate
from solver.plate_folder.trial_schema import StrokeTable
from solver.plate_folder.trials import read_trials
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import (
    ROOT,
    SIZE,
    WAIT_MS,
    AnswerJson,
    RunningBench,
    bench_on,
    command_json,
    end,
    go_to,
    open_task,
    start_bench,
    window,
)

pytestmark = pytest.mark.xdist_group("browser")


def begin_trial(page: Page, name: str, width: float, cut: float) -> None:
    """Go to the scraper, set it, and begin a trial."""
    open_task(page, "Thin")
    page.locator("#trial-name").fill(name)
    page.get_by_role("button", name="Begin", exact=True).click()
    expect(page.locator("#trial option:checked")).to_have_text(name)
    page.locator("#width").fill(f"{width:g}")
    page.locator("#cut").fill(f"{cut:g}")


def strokes(bench: RunningBench, key: str) -> tuple[StrokeTable, ...]:
    return read_trials(bench.folder)[key].strokes


def expect_shown(page: Page, hz: list[float]) -> None:
    """Wait until the table shows these frequencies, to a tenth."""
    expect(page.locator("#tones tbody tr td:nth-child(2)")).to_have_text([f"{value:.1f}" for value in hz])


def state(page: Page, key: str) -> AnswerJson:
    """What the server tells the page of a trial."""
    answer: AnswerJson = page.evaluate(
        """async (key) => {
            const headers = { "x-bench-key": localStorage.getItem("platewright-bench-key") };
            const plate = (await (await fetch("/api/start", { headers })).json()).open[0].plate;
            return (await fetch(`/api/plates/${plate}/trials/${key}`, { headers })).json();
        }""",
        key,
    )
    return answer


def expect_strokes(page: Page, bench: RunningBench, key: str, count: int) -> None:
    """Wait until a trial's file holds so many strokes."""
    path = bench.folder / "trials" / f"{key}.toml"
    for _ in range(200):
        if path.exists() and len(strokes(bench, key)) == count:
            return
        page.wait_for_timeout(25)
    assert len(strokes(bench, key)) == count


@pytest.mark.slow
def test_a_cut_by_keys_alone_does_what_the_command_says(
    page: Page, bench: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    before = {path: path.read_bytes() for path in bench.folder.glob("*.*")}
    page.get_by_role("link", name="Thin").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#cut")).to_be_visible()
    for field, value in (("#width", "40"), ("#cut", "0.2"), ("#trial-name", "by keys")):
        page.locator(field).focus()
        page.keyboard.press("ControlOrMeta+a")
        page.keyboard.type(value)
    page.keyboard.press("Enter")
    expect(page.locator("#trial option:checked")).to_have_text("by keys")
    untouched = [float(f"{tone['hz']:.1f}") for tone in state(page, "by-keys")["modes"]]
    page.locator("#ink").focus()
    for key in ("ArrowLeft", "Shift+ArrowDown", "Shift+ArrowDown", "ArrowUp"):
        page.keyboard.press(key)
    expect(page.locator("#here")).to_contain_text("mm here")
    page.keyboard.press("Enter")
    expect_strokes(page, bench, "by-keys", 1)
    (stroke,) = strokes(bench, "by-keys")
    ((x, y),) = stroke.path_mm
    told = command_json(capsys, "shave", str(bench.folder), "--spot", f"{x},{y},20,0.2", "--json")
    tried = state(page, "by-keys")
    assert [tone["hz"] for tone in tried["modes"]] == pytest.approx(
        [tone["live_hz"] for tone in told["modes"]], abs=2e-3
    )
    assert tried["removed_g"] == pytest.approx(told["removed_g"], abs=1e-3)
    expect_shown(page, [tone["hz"] for tone in tried["modes"]])
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Shift+Enter")
    expect_strokes(page, bench, "by-keys", 2)
    assert strokes(bench, "by-keys")[1].path_mm[0] == (x, y)
    page.locator("#undo").focus()
    page.keyboard.press("Enter")
    expect_strokes(page, bench, "by-keys", 1)
    page.keyboard.press("Enter")
    expect_strokes(page, bench, "by-keys", 0)
    expect_shown(page, untouched)
    page.locator("#redo").focus()
    page.keyboard.press("Enter")
    expect_strokes(page, bench, "by-keys", 1)
    assert {path: path.read_bytes() for path in bench.folder.glob("*.*")} == before


@pytest.mark.slow
def test_a_stroke_by_mouse_does_what_a_full_solve_says(page: Page, bench: RunningBench) -> None:
    begin_trial(page, "another", 36, 0.15)
    begin_trial(page, "by mouse", 36, 0.15)
    box = page.locator("#ink").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 0.52 * box["width"], box["y"] + 0.82 * box["height"])
    page.mouse.down()
    page.mouse.move(
        box["x"] + 0.66 * box["width"], box["y"] + 0.74 * box["height"]
    )  # faster than a hand is seen
    page.mouse.up()
    expect_strokes(page, bench, "by-mouse", 1)
    (stroke,) = strokes(bench, "by-mouse")
    path = np.array(stroke.path_mm) * MM
    assert len(path) == 2
    plate = read_plate(bench.folder)
    full = solve_modes(thinned(plate, Stroke(path, 0.018, 0.15e-3)))
    tried = state(page, "by-mouse")
    assert [tone["hz"] for tone in tried["modes"]] == pytest.approx(full.hz.tolist(), rel=1e-3)
    taken = solve_modes(plate, 1).mass - full.mass  # the answer's mass is rounded
    assert tried["removed_g"] * GRAM == pytest.approx(taken, rel=0.02)
    with page.expect_response(re.compile("/trials/by-mouse/lines$")) as asked:
        page.locator("#lines").check()
    assert len(asked.value.json()["lines_mm"]) == len(tried["modes"])
    page.locator("#colour").select_option("taken")
    expect(page.locator("#side-by-side")).to_contain_text("As it stands")
    expect_no_barrier(page)


@pytest.mark.slow
def test_a_cut_that_cannot_be_is_refused_by_the_name_of_its_field(page: Page, bench: RunningBench) -> None:
    begin_trial(page, "slip", 30, 300)
    for cut, said in (
        ("300", "Cut, mm deep: it is 300; expected 0 to 10. If that was micrometres, write 0.3."),
        ("", "Cut, mm deep: it is 0 or empty; expected more than 0 to 10. Write how deep one cut goes."),
    ):
        page.locator("#cut").fill(cut)
        page.locator("#ink").focus()
        page.keyboard.press("Enter")
        expect(page.locator("#said")).to_have_text(said)
    assert strokes(bench, "slip") == ()
    expect(page.locator("#plan-symmetric")).not_to_be_checked()
    expect(page.locator("#plan-sides")).to_contain_text("the bar makes the sides differ")
    page.locator("#cut").fill("0.05")
    page.locator("#draw-plan").scroll_into_view_if_needed()
    open_task(page, "Modes")
    expect(page.locator("#as-it-stands")).to_be_in_viewport()


@pytest.mark.slow
def test_what_would_leave_no_plate_is_not_taken(page: Page, bench: RunningBench) -> None:
    begin_trial(page, "too deep", 30, 2.4)
    page.locator("#ink").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("expected at least 0.8 mm")
    assert strokes(bench, "too-deep") == ()
    page.locator("#cut").fill("0.8")
    page.locator("#ink").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#beware")).to_contain_text("Thinner than the 2.2 mm")
    page.on("dialog", lambda dialog: dialog.accept())
    page.locator("#throw-away").click()
    expect(page.locator("#trial")).not_to_contain_text("too deep")
    assert not (bench.folder / "trials" / "too-deep.toml").exists()


@pytest.mark.slow
def test_a_plan_that_cannot_be_is_refused_by_the_names_of_the_fields(page: Page) -> None:
    open_task(page, "Thin")
    for name, figure, said in (
        ("most", "0", '"Nowhere deeper than" is 0; expected more than 0 and at most 3 mm.'),
        ("least", "300", '"Nowhere thinner than" is 300; expected 0.5 to 40.'),
        ("5", "7000", "Mode 5, Hz: it is 7000; expected 5 to 5000."),
    ):
        field = page.locator(f"#plan-{name}")
        before = field.input_value()
        field.fill(figure)
        page.locator("#draw-plan").click()
        expect(page.locator("#plan-said")).to_contain_text(said)
        field.fill(before)
    for name in ("1", "2", "5"):
        page.locator(f"#plan-{name}").fill("")
    page.locator("#draw-plan").click()
    expect(page.locator("#plan-said")).to_contain_text(
        "Nothing is wished for; expected a tone in one of the fields"
    )


@pytest.mark.slow
def test_a_refused_first_stroke_leaves_no_trial_and_what_was_undone_outlives_the_bench(
    tmp_path: Path, browser: Browser
) -> None:
    with bench_on(tmp_path, tmp_path / "state", "spruce-blank") as running, window(browser, running) as page:
        open_task(page, "Thin")
        page.locator("#cut").fill("9")
        page.locator("#ink").focus()
        page.keyboard.press("Enter")
        expect(page.locator("#said")).to_contain_text("expected at least 0.8 mm")
        expect(page.locator("#trial")).to_have_text("none yet")
        assert read_trials(running.folder) == {}
        page.locator("#cut").fill("0.2")
        page.locator("#ink").focus()
        page.keyboard.press("Enter")
        expect_strokes(page, running, "trial-1", 1)
        expect(page.locator("#undo")).to_be_enabled()
        page.locator("#undo").click()
        expect_strokes(page, running, "trial-1", 0)
        folder = running.folder
    anew = start_bench(folder, tmp_path / "state")
    try:
        with window(browser, anew) as page:
            open_task(page, "Thin")
            expect(page.locator("#redo")).to_be_enabled()
            page.locator("#redo").click()
            expect_strokes(page, anew, "trial-1", 1)
    finally:
        end(anew)


SLOW_TO_BEGIN = """() => {
    const usual = window.fetch;
    window.fetch = async (path, asked) => {
        if (path.endsWith("/trials")) await new Promise((done) => setTimeout(done, 400));
        return usual(path, asked);
    };
}"""


@pytest.mark.slow
def test_a_stroke_made_before_a_new_trial_is_there_belongs_to_it(page: Page, bench: RunningBench) -> None:
    begin_trial(page, "patient", 30, 0.05)
    page.evaluate(SLOW_TO_BEGIN)
    page.locator("#trial-name").fill("hasty")
    page.locator("#trial-name").press("Enter")
    page.locator("#ink").focus()
    page.keyboard.press("Enter")
    expect_strokes(page, bench, "hasty", 1)
    assert strokes(bench, "patient") == ()


def test_a_cut_made_before_an_old_trial_is_open_belongs_to_it(
    page: Page, bench: RunningBench, browser: Browser
) -> None:
    begin_trial(page, "kept", 30, 0.1)
    other = browser.new_page(viewport=SIZE, reduced_motion="reduce")

    def late(route: Route) -> None:
        other.wait_for_timeout(400)
        route.continue_()

    other.route("**/trials/kept", late)
    go_to(other, bench)
    expect(other.locator("#trial option:checked")).to_have_text("kept", timeout=WAIT_MS)
    other.locator("#ink").focus()
    other.keyboard.press("Enter")
    expect_strokes(page, bench, "kept", 1)
    other.close()


def test_two_windows_never_write_over_each_other(page: Page, bench: RunningBench, browser: Browser) -> None:
    begin_trial(page, "shared", 30, 0.1)
    other = browser.new_page(viewport=SIZE, reduced_motion="reduce")
    go_to(other, bench)
    expect(other.locator("#trial option:checked")).to_have_text("shared", timeout=WAIT_MS)
    for shown in (other, page):
        shown.locator("#ink").focus()
        shown.keyboard.press("Enter")
        if shown is other:
            expect_strokes(page, bench, "shared", 1)
    expect(page.locator("#said")).to_contain_text("changed in another window")
    assert len(strokes(bench, "shared")) == 1
    page.keyboard.press("Enter")
    expect_strokes(page, bench, "shared", 2)
    other.close()


@pytest.mark.slow
def test_files_changed_by_something_else_are_noticed(page: Page, bench: RunningBench) -> None:
    open_task(page, "Thin")
    expect(page.locator("#cut")).to_be_visible()
    path = bench.folder / "plate.toml"
    before = path.read_text()
    path.write_text(
        before.replace("modes_hz = { 2 = 150.0, 5 = 346.0 }", "modes_hz = { 2 = 149.0, 5 = 346.0 }")
    )
    try:
        expect(page.locator("[data-name=changed]")).to_contain_text("changed by something else")
        page.get_by_role("button", name="Read it again").click()
        expect(page.locator("#tones")).to_contain_text("149.0 (")
    finally:
        path.write_text(before)


@pytest.mark.slow
def test_a_plan_is_drawn_into_a_trial_of_its_own(
    page: Page, bench: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ("--want", "5=349", "--min-thickness", "2.2", "--max-removal", "0.6", "--json")
    told = command_json(capsys, "plan", str(bench.folder), *asked)
    open_task(page, "Thin")
    for name, value in (("1", ""), ("2", ""), ("5", "349"), ("least", "2.2"), ("most", "0.6")):
        page.locator(f"#plan-{name}").fill(value)
    page.locator("#draw-plan").click()
    expect(page.locator("#plan-said")).to_contain_text(f"{told['removed_g']:.2f} g, at most")
    expect(page.locator("#plan-said")).to_be_in_viewport(ratio=0.99)  # the rest is a fraction of a pixel
    expect(page.locator("#trial option:checked")).to_have_text(re.compile("^plan"))
    tried = state(page, page.locator("#trial").input_value())
    planned = {tone["mode"]: tone["planned_hz"] for tone in told["modes"]}
    orders = {tone["mode"]: k for k, tone in enumerate(told["modes"])}
    for mode, hz in planned.items():
        assert tried["modes"][orders[mode]]["hz"] == pytest.approx(hz, rel=2e-3)
    assert tried["removed_g"] == pytest.approx(told["removed_g"], abs=0.02)


@pytest.mark.slow
def test_what_was_carved_becomes_the_plate(tmp_path: Path, browser: Browser) -> None:
    shutil.copytree(ROOT / "cases" / "spruce-blank", tmp_path / "blank")
    running = start_bench(tmp_path / "blank", tmp_path / "state")
    page = browser.new_page(viewport=SIZE, reduced_motion="reduce")
    try:
        go_to(page, running)
        begin_trial(page, "by hand", 60, 0.4)
        page.locator("#ink").focus()
        page.keyboard.press("Enter")
        expect(page.locator("#carved")).to_be_enabled()
        before = read_plate(running.folder)
        page.on("dialog", lambda dialog: dialog.accept())
        page.locator("#carved").click()
        expect(page.locator("#side-by-side, #trial:disabled")).to_have_count(1)
        ((x, y),) = read_trials(running.folder)["by-hand"].strokes[0].path_mm
        there = np.array([[x, y]]) * MM
        taken = before.graduation.at(there) - read_plate(running.folder).graduation.at(there)
        assert taken[0] == pytest.approx(0.4e-3, abs=0.05e-3)
        assert read_trials(running.folder)["by-hand"].carved is not None
        assert [entry.stage for entry in read_description(running.folder).log.values()][-1] == "carved"
    finally:
        page.close()
        assert "Traceback" not in end(running)
