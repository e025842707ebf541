"""The command line of ``platewright new``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import answers, busy

EXAMPLE = "Example: platewright new my-plate --like viola-top --length 408"

STOCK_HELP = "violin-top, violin-back, viola-top, viola-back, cello-top, cello-back or panel."


def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where to put it.", show_default=False)],
    like: Annotated[str, typer.Option(metavar="PLATE", help=STOCK_HELP, show_default=False)],
    length: Annotated[
        float | None, typer.Option(metavar="MM", help="Length of the plate in mm; left out, the usual one.")
    ] = None,
) -> None:
    """Make the folder of a usual plate, to be edited into one's own."""
    from solver.commands.new import run_new

    run_new(folder, like, length, answers(), busy())
