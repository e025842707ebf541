"""Pictures for a dark screen: readable by the rule of WCAG 2.1, in the same order of lightness, the words kept."""

import re

import pytest
from matplotlib.figure import Figure

from solver.viewer.colours import INK, INWARD, OUTWARD, PAPER, QUIET_INK, THICKNESS
from solver.viewer.dark_page import dark_colour, in_the_dark
from solver.viewer.page_files import page_as_svg

LEAST_CONTRAST = 4.5
"""Of words on their ground: WCAG 2.1, success criterion 1.4.3."""


def luminance(colour: str) -> float:
    """Relative luminance of ``#rrggbb`` as WCAG 2.1 defines it."""
    parts = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("colour", [INK, QUIET_INK, OUTWARD, INWARD, "#000000"])
def test_words_and_marks_stand_out_from_the_dark_paper(colour: str) -> None:
    light, dark = luminance(dark_colour(colour)), luminance(dark_colour(PAPER))
    assert (light + 0.05) / (dark + 0.05) >= LEAST_CONTRAST


def test_what_was_darker_is_lighter() -> None:
    turned = [luminance(dark_colour(colour)) for colour in THICKNESS]
    assert turned == sorted(turned)


def test_a_page_keeps_its_words_and_no_black_or_white_is_left() -> None:
    figure = Figure(facecolor=PAPER)
    figure.add_subplot().plot([1, 2], color=INK, label="mode 5")
    figure.text(0.1, 0.9, "a word in black")
    light = page_as_svg(figure)
    dark = in_the_dark(light)
    assert re.findall(r">([^<>]*[a-z][^<>]*)</text>", dark) == re.findall(
        r">([^<>]*[a-z][^<>]*)</text>", light
    )
    assert not {"#ffffff", INK} & set(re.findall(r"(?<=: )#[0-9a-f]{6}", dark))
    root = re.search(r"<svg fill=\"(#\w+)\"", dark)
    assert root is not None
    assert luminance(root[1]) > 0.5
