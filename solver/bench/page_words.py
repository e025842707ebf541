"""Sentences of the commands in the words of the page: its fields in the place of options, for every refusal alike."""

import re

_FIELDS = {
    "max-removal": '"Nowhere deeper than"',
    "min-thickness": '"Nowhere thinner than"',
    "seen": '"Photographed from"',
    "hz": "Played",
    "want": "Wanted",
    "without": '"Not there yet"',
    "thickness": '"Thickness then"',
    "contour": "Lines of thickness every",
} | {
    name: name.capitalize()
    for name in (
        *("mass", "mode", "tone", "temperature", "humidity", "stage", "note", "taken", "corrects", "from"),
        *("photo", "recording", "relation", "passes", "paper", "entry"),
    )
}
_OPTION = re.compile(rf"--({'|'.join(_FIELDS)})\b(?!-)")
_OF_A_MODE = re.compile(r"--(?:want|mode): '(\w+)=([^']*)';")
_NO_FIELD = re.compile(r"^--(?:landmark|trial|write): (.)")
"""Options which on the page are no field but what one points at, chooses or presses."""

_OTHERWISE_HERE = {
    "(y counts to the left": "(above 0 is to the left",
    " with --landmark": "",
    "say which you want with --relation, as in 5=+80..+180": "say which you want above",
    "Choose one kind with --role and --size": 'Choose one under "Kind" and "Size"',
    "Choose one with --species": 'Choose one under "Wood"',
    "Choose one with --cut": 'Choose one under "Cut"',
    "Choose one with --stage": 'Choose one under "Stage"',
}
"""What the page does in a way of its own: millimetres from the joint, places pointed out, choices by a named list."""

_PLACE_AND_ITS_WORDS = re.compile(r"\bx (\d+), y -?(\d+) mm(?= \()")
"""A place that is told in words after it, on which side it lies among them."""

_FIGURE_OF_A_MODE = re.compile(r"\bmode(\d+)\b")


def in_page_words(sentence: str) -> str:
    """Return a sentence of a command with the names of the page's fields for those of its options."""
    said = _NO_FIELD.sub(lambda start: start[1].upper(), sentence)
    for words, here in _OTHERWISE_HERE.items():
        said = said.replace(words, here)
    said = _OF_A_MODE.sub(r"Mode \1, Hz: it is \2;", said)
    said = _PLACE_AND_ITS_WORDS.sub(r"\1 mm up, \2 mm from the joint", said)
    return _FIGURE_OF_A_MODE.sub(r"mode \1", _OPTION.sub(lambda option: _FIELDS[option[1]], said))
