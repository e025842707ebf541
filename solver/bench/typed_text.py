"""Figures as they are typed into the page, read by the commands' rules and refused in the words of the page."""

import re
from typing import Annotated

from pydantic import Field

Short = Annotated[str, Field(max_length=400)]

_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
_OPTION = re.compile(r"--(mass|mode|tone|temperature|humidity|stage|note|taken|corrects|from)\b")


def with_point(text: str) -> str:
    """Return a figure with a point where a decimal comma was typed."""
    return _DECIMAL_COMMA.sub(".", text.strip())


def in_page_words(sentence: str) -> str:
    """Return a sentence of a command with the names of the page's fields for those of its options."""
    return _OPTION.sub(lambda option: option[1].capitalize(), sentence)
