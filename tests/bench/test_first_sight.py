"""What somebody sees who has never seen the page: what to do first, what colours mean, where to take wood, for what."""

import re
from collections.abc import Iterator

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect

from tests.bench.conftest import RunningBench, bench_on, open_task, window
from tests.bench.test_shape_page import settled
from tests.bench.test_thin_page import begin_trial

pytestmark = [pytest.mark.xdist_group("browser"), pytest.mark.slow]

COLOUR_AT = """([x, y]) => {
    const field = document.querySelector("#field");
    return field.getContext("2d").getImageData(x * field.width, y * field.height, 1, 1).data.join();
}"""
KEY = "() => document.querySelector('#key').outerHTML"
FAR = [0.45, 0.12]
"""Shares of the plan's width and height at which no wood is taken here."""

ROWS = "() => [...document.querySelectorAll('#tones tbody tr')].map((row) => row.getBoundingClientRect().top)"
FIRST_ABOVE_SECOND = """([first, second]) => {
    const [one, other] = [first, second].map((name) => document.querySelector(name));
    return Boolean(one.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING);
}"""
BORDERED = """(canvas) => {
    const { data, width, height } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
    const across = new Set(), down = new Set();
    for (let i = 0; i < width * height; i++) {
        if (data[4 * i + 3] > 0) { across.add(i % width); down.add(Math.floor(i / width)); }
    }
    return [across.size, down.size];
}"""


def cut(page: Page, across: float, down: float) -> None:
    """Scrape at a place by its shares of the plan's width and height."""
    box = page.locator("#ink").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + across * box["width"], box["y"] + down * box["height"])
    page.mouse.down()
    page.mouse.up()


@pytest.fixture(scope="module")
def fresh(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBench]:
    """A plate on which nothing was tried yet."""
    place = tmp_path_factory.mktemp("fresh")
    with bench_on(place, place / "state") as running:
        yield running


def test_the_first_minute(fresh: RunningBench, browser: Browser) -> None:
    with window(browser, fresh) as page:
        expect(page.locator("#hint")).to_have_text("drag over the plate to take wood")
        expect(page.locator("#tones tr.chosen")).to_contain_text("mode 2")  # the lowest that is wished for
        wished = page.get_by_role("button", name="where?")
        expect(wished).to_have_count(2)
        wished.last.click()
        expect(page.locator("#where-said")).to_have_text(
            re.compile(r"^Mode 5 is \d+\.\d Hz above your wish\. Take wood where the plate is orange")
        )
        expect(page.locator("#tones tr.chosen")).to_contain_text("mode 5")
        expect(page.locator("#colour option:checked")).to_have_text("a shaving's Hz, mode 5")
        numbers = [words for words in page.locator("#key text").all_text_contents() if words != "Hz"]
        assert sum(float(words.replace("\u2212", "-")) != 0 for words in numbers) >= 6
        page.locator("#colour").select_option("thickness")
        expect(page.locator("#where-said")).to_be_empty()
        assert page.evaluate(FIRST_ABOVE_SECOND, ["#draw-plan", ".shape"])
        expect(page.locator("#draw-plan")).to_be_in_viewport(ratio=1)
        cut(page, 0.45, 0.8)
        expect(page.locator("#undo")).to_be_enabled()
        expect(page.locator("#hint")).to_be_hidden()
        open_task(page, "Modes")
        open_task(page, "Thin")
        expect(page.locator("#undo")).to_be_enabled()
        expect(page.locator("#hint")).to_be_hidden()


def test_untouched_wood_has_one_colour_in_every_trial_and_the_key_tells_it(page: Page) -> None:
    begin_trial(page, "light", 30, 0.05)
    before, key = page.evaluate(COLOUR_AT, FAR), page.evaluate(KEY)
    for name, depth in (("heavy", 0.9), ("heavier", 1.3)):
        begin_trial(page, name, 30, depth)
        cut(page, 0.45, 0.8)
        expect(page.locator("#figures")).to_contain_text(f"{depth:.2f} mm")
        page.wait_for_timeout(200)
        assert (page.evaluate(COLOUR_AT, FAR), page.evaluate(KEY)) == (before, key)
    page.locator("#colour").select_option("taken")
    taken = page.evaluate(KEY)
    page.locator("#trial").select_option("light")
    expect(page.locator("#figures")).not_to_contain_text("1.30 mm")
    assert page.evaluate(KEY) == taken


def test_no_row_moves_while_wood_is_taken(page: Page) -> None:
    begin_trial(page, "calm", 30, 0.1)
    expect(page.locator("#solving")).to_be_hidden()
    before = page.evaluate(ROWS)
    for across, down in ((0.40, 0.85), (0.55, 0.2), (0.49, 0.5), (0.60, 0.8), (0.36, 0.75)):
        taken = page.locator("#figures dd").nth(1).inner_text()
        cut(page, across, down)
        expect(page.locator("#figures dd").nth(1)).not_to_have_text(taken)
        assert page.evaluate(ROWS) == pytest.approx(before, abs=0.5)


def test_the_moving_shape_stands_upright_as_the_plan(page: Page) -> None:
    from io import BytesIO

    from PIL import Image

    open_task(page, "Modes")
    canvas = page.locator(".shape canvas")
    expect(canvas).to_have_attribute("data-painter", "webgl2")
    pixels = np.asarray(Image.open(BytesIO(settled(canvas))).convert("RGB")).astype(int)
    inked = np.abs(pixels - pixels[8, 8]).sum(axis=2) > 40
    inked[:4], inked[-4:], inked[:, :4], inked[:, -4:] = False, False, False, False  # its frame
    high, wide = np.ptp(np.flatnonzero(inked.any(axis=1))), np.ptp(np.flatnonzero(inked.any(axis=0)))
    assert high > 1.2 * wide


def test_each_card_of_the_first_page_shows_its_plate(page: Page) -> None:
    page.get_by_role("button", name="Plates").click()
    drawn = page.locator(".plates canvas[data-drawn]")
    expect(drawn).to_have_count(page.locator(".plates li").count())
    wide, high = drawn.first.evaluate(BORDERED)
    assert 1.4 < high / wide < 2.0  # a violin's top
    expect(page.locator(".plates canvas[data-card]").first).to_have_attribute("aria-hidden", "true")


LABELS = """async (most) => {
    const { changeBands, levelWords } = await import("/scales.js");
    const hz = Float32Array.from({ length: 400 }, (_, k) => most * Math.sin(k));
    const { levels, digits } = changeBands({ colours: { change: ["#e08214", "#fbfaf8", "#2166ac"] } }, hz);
    return levels.map((level) => levelWords(level, digits));
}"""


@pytest.mark.parametrize("most", [3.7, 0.41, 0.016, 0.0023, 0.00011])
def test_the_numbers_of_a_map_tell_its_levels_apart_however_small_they_are(most: float, page: Page) -> None:
    labels = page.evaluate(LABELS, most)
    assert len(set(labels)) == len(labels) >= 7
    assert sum(float(words.replace("\u2212", "-")) == 0 for words in labels) <= 1
