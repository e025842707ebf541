"""Figures as they are typed into the page, read by the rules of the commands."""

import re
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from solver.core.errors import InputError

if TYPE_CHECKING:
    from solver.plate.climate import Climate

Short = Annotated[str, Field(max_length=400)]

_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")


def with_point(text: str) -> str:
    """Return a figure with a point where a decimal comma was typed."""
    return _DECIMAL_COMMA.sub(".", text.strip())


def typed_room(typed: tuple[str, str], where: str) -> "Climate":
    """Return the room of a temperature and a humidity; raises InputError if it is none, or one without a known rule."""
    from solver.commands.typed_figures import typed_number
    from solver.plate.climate import checked_climate

    try:
        temperature = typed_number("--temperature", with_point(typed[0]))
        humidity = typed_number("--humidity", with_point(typed[1]))
    except InputError as error:
        raise InputError(f"{where}: {error}") from None
    return checked_climate(temperature, humidity, where)
