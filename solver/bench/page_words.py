"""Sentences of the commands in the words of the page: its fields in the place of options, for every refusal alike."""

import re

_FIELDS = {
    "max-removal": '"Nowhere deeper than"',
    "min-thickness": '"Nowhere thinner than"',
    "seen": '"Photographed from"',
    "hz": "Played",
    "want": "Wanted",
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

_SIDE = "(y counts to the left", "(above 0 is to the left"
"""The page has no y but millimetres from the joint."""

_POINTED_OUT = re.compile(r" with --landmark\b")


def in_page_words(sentence: str) -> str:
    """Return a sentence of a command with the names of the page's fields for those of its options."""
    said = _NO_FIELD.sub(lambda start: start[1].upper(), sentence)
    said = _OF_A_MODE.sub(r"Mode \1, Hz: it is \2;", _POINTED_OUT.sub("", said).replace(*_SIDE))
    return _OPTION.sub(lambda option: _FIELDS[option[1]], said)
