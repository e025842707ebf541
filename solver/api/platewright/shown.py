"""How answers show themselves in a notebook: as the table that the command prints."""

from io import StringIO

from rich.console import Console, RenderableType

_WIDE = 118
_FORMAT = '<pre style="line-height: normal; font-family: monospace">{code}</pre>'


def as_html(answer: RenderableType) -> str:
    """Return what a command prints, as HTML."""
    console = Console(record=True, file=StringIO(), width=_WIDE, force_jupyter=False)
    console.print(answer)
    return console.export_html(code_format=_FORMAT, inline_styles=True)
