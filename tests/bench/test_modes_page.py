"""Modes on the page: the command's figures, by mouse and by keys alone."""

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import AnswerJson, ToneJson, open_task

pytestmark = pytest.mark.xdist_group("browser")


def row(page: Page, order: int) -> Locator:
    return page.locator(f"#tones tr[data-order='{order}']")


def expect_hold_and_tap(page: Page, tone: ToneJson) -> None:
    """Expect the places where to hold and tap the plate; on a top the bass side lies at y > 0."""
    for x, y in (*tone["hold_mm"], tone["tap_mm"]):
        place = f"{x:.0f} mm up, {abs(y):.0f} mm to the {'bass' if y > 0 else 'treble'} side"
        expect(page.locator("#hold-and-tap")).to_contain_text(place)


def test_tones_are_those_of_the_command(page: Page, told_modes: AnswerJson) -> None:
    open_task(page, "Modes")
    expect(row(page, 8)).to_be_visible()
    for tone in told_modes["modes"]:
        cells = row(page, tone["order"]).locator("td").all_inner_texts()
        assert cells[0] == f"{tone['hz']:.1f}"
        note, cents = cells[1].replace("\u2212", "-").split()
        assert note == tone["note"]
        assert int(cents) == pytest.approx(tone["cents"], abs=0.5)
    fifth = next(tone for tone in told_modes["modes"] if tone["mode"] == "5")
    row(page, fifth["order"]).get_by_role("button").click()
    expect_hold_and_tap(page, fifth)
    expect(row(page, fifth["order"])).to_have_class("chosen")
    expect(page.locator(".shape canvas")).to_have_attribute("data-painter", re.compile("webgl2|plain"))
    expect_no_barrier(page)


def test_a_tone_is_chosen_and_its_shape_moved_by_keys_alone(page: Page, told_modes: AnswerJson) -> None:
    page.get_by_role("link", name="Modes").focus()
    page.keyboard.press("Enter")
    second = row(page, 2).get_by_role("button")
    for _ in range(60):
        page.keyboard.press("Tab")
        if second.evaluate("button => button === document.activeElement"):
            break
    page.keyboard.press("Enter")
    expect(second).to_have_attribute("aria-pressed", "true")
    expect_hold_and_tap(page, told_modes["modes"][1])
    shape = page.locator(".shape canvas")
    expect(shape).to_have_attribute("data-painter", re.compile("webgl2|plain"))
    shape.focus()
    before = shape.screenshot()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    assert shape.screenshot() != before
    expect(page.locator(".shape .pause")).to_have_text("Move")  # the browser asks for less motion
    page.keyboard.press("Space")
    expect(page.locator(".shape .pause")).to_have_text("Stop")
    page.keyboard.press("Space")


@pytest.mark.slow
def test_kept_powder_lines_are_drawn_under_those_of_the_tone_they_are_likest(
    page: Page, told_modes: AnswerJson
) -> None:
    open_task(page, "Modes")
    row(page, 2).get_by_role("button").click()
    plate = page.locator("#plate canvas").first
    before = plate.screenshot()
    page.get_by_label("Powder lines kept with this plate").select_option("mode-5-lines.csv")
    fifth = next(tone for tone in told_modes["modes"] if tone["mode"] == "5")
    expect(row(page, fifth["order"])).to_have_class("chosen")
    expect(page.locator("#seen-gap")).to_contain_text(
        re.compile(r"Half of it lies within [01]\.\d mm of the lines computed now for mode 5")
    )
    assert plate.screenshot() != before
    row(page, 2).get_by_role("button").click()
    expect(page.locator("#seen-gap")).to_contain_text("It is likest mode 5.")
    expect_no_barrier(page)


@pytest.mark.slow
def test_the_predicted_pitch_is_heard_only_on_request_and_quietly(page: Page) -> None:
    page.add_init_script(
        "window.levels = []; const ramp = AudioParam.prototype.linearRampToValueAtTime;"
        "AudioParam.prototype.linearRampToValueAtTime = function (value, when) "
        "{ window.levels.push(value); return ramp.call(this, value, when); };"
    )
    page.reload()
    open_task(page, "Modes")
    hear = page.get_by_role("button", name="Hear it")
    expect(hear).to_be_visible()
    assert page.evaluate("window.levels.length") == 0
    hear.click()
    assert page.evaluate("Math.max(...window.levels)") <= 0.05
    expect(page.locator("#work")).to_contain_text("loud tones harm hearing")
