"""The command line of ``platewright check``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import Folder, answers, busy

EXAMPLE = "Example: platewright check my-plate --picture my-plate.png"


def check(
    folder: Folder,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw what was understood (.png, .pdf or .svg).")
    ] = None,
) -> None:
    """Say what was understood of a plate, before anything is computed."""
    from solver.commands.check import run_check

    run_check(folder, picture, answers(), busy())
