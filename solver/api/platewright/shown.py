"""How the solver's values come to the front: with all their fields, and in a notebook as the table of the command."""

from dataclasses import fields
from io import StringIO
from typing import Any

from rich.console import Console, RenderableType

_WIDE = 118
_FORMAT = '<pre style="line-height: normal; font-family: monospace">{code}</pre>'


def as_html(answer: RenderableType) -> str:
    """Return what a command prints, as HTML."""
    console = Console(record=True, file=StringIO(), width=_WIDE, force_jupyter=False)
    console.print(answer)
    return console.export_html(code_format=_FORMAT, inline_styles=True)


def fields_of(value: Any) -> dict[str, Any]:
    """Return the fields of a dataclass by their names, for a value that has more of them."""
    return {field.name: getattr(value, field.name) for field in fields(value)}
