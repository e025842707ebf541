"""The moving shape: it stands still when the computer asks for less motion, and is drawn without WebGL just as well."""

from collections.abc import Iterator
from io import BytesIO

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Locator, Page, expect

from tests.bench.conftest import CHROMIUM, SIZE, WAIT_MS, RunningBench, go_to, open_task

pytestmark = pytest.mark.xdist_group("browser")


def colours(picture: bytes) -> tuple[float, float]:
    """Return the shares of a picture that are blue, moving out, and orange, moving in."""
    pixels = np.asarray(Image.open(BytesIO(picture)).convert("RGB")).astype(int)
    red, blue = pixels[..., 0], pixels[..., 2]
    return float((blue > red + 40).mean()), float((red > blue + 40).mean())


def shape(page: Page, painter: str) -> Locator:
    """Go to the modes and return the picture of the shape once it is painted."""
    open_task(page, "Modes")
    canvas = page.locator(".shape canvas")
    expect(canvas).to_have_attribute("data-painter", painter)
    return canvas


def settled(canvas: Locator) -> bytes:
    """Return what the browser shows once it is done with painting: two pictures in a row that are alike."""
    before, shown = b"", canvas.screenshot()
    while before != shown:
        before, shown = shown, canvas.screenshot()
    return shown


@pytest.mark.slow
def test_the_shape_stands_still_where_less_motion_is_asked_for_and_moves_elsewhere(page: Page) -> None:
    canvas = shape(page, "webgl2")
    expect(page.locator(".shape .pause")).to_have_text("Move")
    before = settled(canvas)
    page.wait_for_timeout(400)
    assert canvas.screenshot() == before
    page.emulate_media(reduced_motion="no-preference")
    expect(page.locator(".shape .pause")).to_have_text("Stop")
    page.wait_for_timeout(200)
    assert canvas.screenshot() != before
    page.emulate_media(reduced_motion="reduce")
    expect(page.locator(".shape .pause")).to_have_text("Move")


@pytest.mark.slow
def test_the_shape_is_seen_from_the_side_that_the_plan_shows(page: Page) -> None:
    canvas = shape(page, "webgl2")
    expect(page.locator(".shape")).to_contain_text("Seen from the inside")
    inside = settled(canvas)
    page.get_by_role("radio", name="outside").check()
    expect(page.locator(".shape")).to_contain_text("Seen from the outside")
    outside = settled(canvas)
    assert outside != inside
    page.get_by_role("radio", name="inside").check()
    expect(page.locator(".shape")).to_contain_text("Seen from the inside")
    as_before = (
        settled(canvas) == inside
    )  # told apart here: what pytest says of two long pictures takes it minutes
    assert as_before


@pytest.mark.slow
def test_the_shape_comes_back_when_the_graphics_were_lost_and_are_there_again(page: Page) -> None:
    canvas = shape(page, "webgl2")
    assert min(colours(settled(canvas))) > 0.02
    page.evaluate(
        "lost = document.querySelector('.shape canvas').getContext('webgl2').getExtension('WEBGL_lose_context');"
        "lost.loseContext()"
    )
    expect(canvas).not_to_have_attribute("data-painter", "webgl2")
    assert colours(settled(canvas)) == (0.0, 0.0)
    page.evaluate("lost.restoreContext()")
    expect(canvas).to_have_attribute("data-painter", "webgl2")
    assert min(colours(settled(canvas))) > 0.02


@pytest.fixture
def without_webgl(browser: Browser, bench: RunningBench) -> Iterator[Page]:
    """The page in a browser that was started without WebGL."""
    plain = browser.browser_type.launch(
        executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu", "--disable-3d-apis"]
    )
    page = plain.new_page(viewport=SIZE, reduced_motion="reduce")
    page.set_default_timeout(WAIT_MS)
    go_to(page, bench)
    yield page
    plain.close()


@pytest.mark.slow
def test_without_webgl_the_shape_is_drawn_turned_and_moved_by_plain_means(
    without_webgl: Page, page: Page
) -> None:
    canvas = shape(without_webgl, "plain")
    assert without_webgl.evaluate("document.createElement('canvas').getContext('webgl2')") is None
    before = settled(canvas)
    shares = colours(before)
    assert min(shares) > 0.02  # both ways of moving are seen
    assert shares == pytest.approx(colours(shape(page, "webgl2").screenshot()), rel=0.2)
    canvas.focus()
    without_webgl.keyboard.press("ArrowLeft")
    turned = settled(canvas)
    assert turned != before
    without_webgl.keyboard.press("Space")
    expect(without_webgl.locator(".shape .pause")).to_have_text("Stop")
    without_webgl.wait_for_timeout(300)
    assert canvas.screenshot() != turned
