"""The command line of ``platewright sheet``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import Folder, answers, busy

EXAMPLE = "Example: platewright sheet my-plate --paper Letter"


def sheet(
    folder: Folder,
    paper: Annotated[str, typer.Option(metavar="PAPER", help="A4, Letter, A3 or roll.")] = "A4",
    out: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Where to write the PDF; left out, sheet.pdf in the folder."),
    ] = None,
    mode: Annotated[
        list[str] | None,
        typer.Option(
            metavar="N", help="Mark where to hold and tap for mode N; may be repeated. Left out: 1, 2 and 5."
        ),
    ] = None,
) -> None:
    """Write the plate at 1:1 as a PDF for the bench, seen from the inside, on sheets that are joined."""
    from solver.commands.sheet import SheetRequest, paper_called, run_sheet

    request = SheetRequest(folder, paper_called(paper), out, tuple(mode or ()))
    run_sheet(request, answers(), busy())
