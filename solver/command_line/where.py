"""The command line of ``platewright where``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import AsJson, Folder, answers, busy

EXAMPLE = "Example: platewright where my-top --mode 5 --mode 2 --pictures my-top/where"


def where(
    folder: Folder,
    mode: Annotated[
        list[str] | None,
        typer.Option(
            metavar="N",
            help="The mode to be moved; further ones are to stay. May be repeated. Left out: 1, 2 and 5.",
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Draw the maps (.pdf, or .png and .svg with -2, -3 for more pages)."
        ),
    ] = None,
    pictures: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Draw the maps into this folder.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Say where a shaving lowers a mode most, where it raises it, and where it moves one mode but not another."""
    from solver.commands.where import WhereRequest, run_where

    run_where(WhereRequest(folder, tuple(mode or ()), picture, pictures, as_json), answers(), busy())
