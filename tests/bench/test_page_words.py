"""Refusals of the commands in the words of the page: the fields that it has, and no options or keys where it has one."""

import pytest

from solver.bench.describing import in_form_words
from solver.bench.page_words import in_page_words
from solver.commands.pair_answer import NOT_JUDGED


@pytest.mark.parametrize(
    ("command", "page"),
    [
        ("--max-removal is 0; expected more.", '"Nowhere deeper than" is 0; expected more.'),
        ("Write for instance --min-thickness 2.2.", 'Write for instance "Nowhere thinner than" 2.2.'),
        ("--want: '5=7000'; expected 5 to 5000.", "Mode 5, Hz: it is 7000; expected 5 to 5000."),
        ("--landmark: the places do not fit.", "The places do not fit."),
        ("Point out four places with --landmark.", "Point out four places."),
        (
            "Check its side of the joint (y counts to the left seen from outside).",
            "Check its side of the joint (above 0 is to the left seen from outside).",
        ),
        (
            "Choose one kind with --role and --size to see it alone.",
            'Choose one under "Kind" and "Size" to see it alone.',
        ),
        ("mode5 against mass", "mode 5 against mass"),
        (NOT_JUDGED, "The intervals are shown and not judged; say which you want above."),
        (
            "Tap it at x 20, y -68 mm (treble side).",
            "Tap it at 20 mm up, 68 mm from the joint (treble side).",
        ),
        ("The bar: --height stays as it is.", "The bar: --height stays as it is."),
    ],
)
def test_options_are_called_as_the_fields_of_the_page(command: str, page: str) -> None:
    assert in_page_words(command) == page


@pytest.mark.parametrize(
    ("command", "page"),
    [
        ("plate.toml: wood.mass_g is 0.5; expected 1.", "Mass of the plate, g: it is 0.5; expected 1."),
        (
            "plate.toml: title is missing; expected it.",
            "Title: it is empty; expected something here. Fill it in.",
        ),
        (
            "plate.toml: [wood] gives both density_kg_m3 and mass_g.",
            'Wood gives both "Density" and "Mass of the plate".',
        ),
        ("plate.toml: bar.width_mm is 0; expected 1.", "plate.toml: bar.width_mm is 0; expected 1."),
    ],
)
def test_keys_of_plate_toml_are_called_as_the_fields_of_the_form(command: str, page: str) -> None:
    assert in_form_words(command) == page
