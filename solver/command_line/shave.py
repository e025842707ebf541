"""The command line of ``platewright shave``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import AsJson, Folder, answers, busy

EXAMPLE = (
    "Example: platewright shave my-top --spot 250,0,30,0.2 --spot 95,-60,25,0.3 --pictures my-top/shaved"
)


def shave(
    folder: Folder,
    spot: Annotated[
        list[str] | None,
        typer.Option(
            metavar="X,Y,RADIUS,DEPTH",
            help="A round hollow from the inside, in mm: its middle, its radius, and how deep it is there; "
            "may be repeated.",
        ),
    ] = None,
    count: Annotated[int, typer.Option(metavar="N", help="How many tones, 1 to 16.")] = 8,
    as_json: AsJson = False,
    pictures: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Draw the node lines before and after into this folder."),
    ] = None,
) -> None:
    """Try a shaving before it is taken: each tone before and after, mass, and the thickness that is left."""
    from solver.commands.shave import run_shave
    from solver.commands.shave_request import ShaveRequest, checked_count, read_spots

    request = ShaveRequest(folder, read_spots(spot or ()), checked_count(count), as_json, pictures)
    run_shave(request, answers(), busy())
