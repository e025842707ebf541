"""The hand on the plate: one finger scrapes, two never do, Escape takes back what is being made, Ctrl+Z what was made."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, CDPSession, Page, ViewportSize, expect

from tests.bench.conftest import WAIT_MS, RunningBench, bench_on, go_to, open_task, tab_to
from tests.bench.test_thin_page import begin_trial, expect_shown, expect_strokes, state, strokes

pytestmark = pytest.mark.xdist_group("browser")

TABLET: ViewportSize = {"width": 1180, "height": 820}
TELEPHONE: ViewportSize = {"width": 390, "height": 844}
HZ = "#tones tbody tr td:nth-child(2)"
AT_REST = """async () => {
    for (let before = -1; before !== scrollY;) {
        before = scrollY;
        await new Promise((done) => setTimeout(done, 300));
    }
}"""
Point = tuple[float, float]


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBench]:
    place = tmp_path_factory.mktemp("hand")
    with bench_on(place, place / "state", "spruce-blank") as running:
        yield running


def touched(browser: Browser, blank: RunningBench, size: ViewportSize) -> tuple[Page, CDPSession]:
    """Open Thin on a screen that is touched, with a trial of its own once the scraper is there."""
    page = browser.new_context(viewport=size, has_touch=True, reduced_motion="reduce").new_page()
    page.set_default_timeout(WAIT_MS)
    go_to(page, blank)
    expect(page.locator("#cut")).to_be_attached()
    return page, page.context.new_cdp_session(page)


def places(page: Page, *shares: Point) -> list[Point]:
    """Return places of the window by their shares of the plan's width and height."""
    box = page.locator("#ink").bounding_box()
    assert box is not None
    return [(box["x"] + across * box["width"], box["y"] + down * box["height"]) for across, down in shares]


def touch(fingers: CDPSession, kind: str, *at: Point) -> None:
    """Let all fingers that lie on the screen be at these places."""
    points = [{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(at)]
    fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})


def drag(fingers: CDPSession, begin: Point, end: Point, steps: int = 8) -> None:
    touch(fingers, "touchStart", begin)
    for k in range(1, steps + 1):
        touch(fingers, "touchMove", tuple(a + k / steps * (b - a) for a, b in zip(begin, end, strict=True)))  # type: ignore[arg-type]


@pytest.mark.slow
def test_one_finger_scrapes_and_a_second_takes_it_back(browser: Browser, blank: RunningBench) -> None:
    page, fingers = touched(browser, blank, TABLET)
    begin_trial(page, "fingers", 20, 0.2)
    untouched = page.locator(HZ).all_inner_texts()
    low, high, beside = places(page, (0.52, 0.8), (0.52, 0.5), (0.56, 0.8))
    touch(fingers, "touchStart", low, beside)  # both at once
    for k in range(1, 8):
        touch(fingers, "touchMove", (low[0], low[1] - 12 * k), (beside[0], beside[1] + 3 * k))
    touch(fingers, "touchEnd")
    drag(fingers, low, high)
    expect(page.locator("#figures")).to_contain_text("0.20 mm")  # seen while it is made
    touch(fingers, "touchStart", high, beside)  # one after the other
    touch(fingers, "touchMove", (high[0], high[1] + 30), beside)
    touch(fingers, "touchEnd")
    expect(page.locator(HZ)).to_have_text(untouched)
    expect(page.locator("#figures")).not_to_contain_text("0.20 mm")
    expect(page.locator("#undo")).to_be_disabled()
    drag(fingers, low, high)
    touch(fingers, "touchEnd")
    expect_strokes(page, blank, "fingers", 1)
    page.context.close()


@pytest.mark.slow
def test_a_swipe_moves_a_telephones_page_and_a_finger_that_rests_first_scrapes(
    browser: Browser, blank: RunningBench
) -> None:
    page, fingers = touched(browser, blank, TELEPHONE)
    begin_trial(page, "telephone", 20, 0.2)
    page.evaluate("scrollTo(0, 0)")
    page.wait_for_timeout(100)
    low, high = places(page, (0.52, 0.8), (0.52, 0.4))
    drag(fingers, low, high)
    touch(fingers, "touchEnd")
    page.wait_for_function("() => scrollY > 50")
    assert strokes(blank, "telephone") == ()
    page.evaluate(AT_REST)
    page.evaluate("scrollTo(0, 0)")
    page.wait_for_timeout(100)
    touch(fingers, "touchStart", low)
    page.wait_for_timeout(400)
    touch(fingers, "touchMove", high)
    touch(fingers, "touchEnd")
    expect_strokes(page, blank, "telephone", 1)
    assert page.evaluate("scrollY") == 0
    page.context.close()


@pytest.mark.slow
def test_escape_takes_back_the_stroke_in_hand_and_ctrl_z_the_last_one(
    browser: Browser, blank: RunningBench
) -> None:
    page, _ = touched(browser, blank, TABLET)
    begin_trial(page, "escape", 20, 0.2)
    untouched = page.locator(HZ).all_inner_texts()
    low, high = places(page, (0.52, 0.8), (0.52, 0.5))
    page.mouse.move(*low)
    page.mouse.down()
    page.mouse.move(*high, steps=4)
    expect(page.locator(HZ)).not_to_have_text(untouched)
    page.keyboard.press("Escape")
    expect(page.locator(HZ)).to_have_text(untouched)
    page.mouse.move(*low, steps=4)
    page.mouse.up()
    expect(page.locator("#undo")).to_be_disabled()
    assert strokes(blank, "escape") == ()
    page.mouse.down()
    page.mouse.move(*high, steps=4)
    page.mouse.up()
    expect_strokes(page, blank, "escape", 1)
    expect(page.locator("#undo")).to_be_enabled()
    page.locator("#cut").focus()
    page.keyboard.press("Control+z")  # here it is the field's own
    expect_strokes(page, blank, "escape", 1)
    page.locator("#ink").focus()
    page.keyboard.press("Control+z")
    expect_strokes(page, blank, "escape", 0)
    expect(page.locator(HZ)).to_have_text(untouched)
    page.keyboard.press("Control+z")  # nothing is left to take back
    page.keyboard.press("Control+Shift+Z")
    expect_strokes(page, blank, "escape", 1)
    expect_shown(page, [tone["hz"] for tone in state(page, "escape")["modes"]])
    expect(page.locator("#said")).to_be_empty()
    page.context.close()


@pytest.mark.slow
def test_a_task_chosen_by_keys_keeps_the_focus(page: Page) -> None:
    open_task(page, "Thin")
    tab_to(page, '#tasks a[href="#modes"]')
    page.keyboard.press("Enter")
    expect(page.locator("#as-it-stands")).to_be_visible()
    assert page.evaluate("document.activeElement.getAttribute('href')") == "#modes"
