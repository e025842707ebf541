"""The command line of ``platewright modes``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import AsJson, Folder, answers, busy

EXAMPLE = "Example: platewright modes my-plate --pictures my-plate/pictures"


def modes(
    folder: Folder,
    count: Annotated[int, typer.Option(metavar="N", help="How many tones, 1 to 40.")] = 8,
    as_json: AsJson = False,
    pictures: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Draw thickness, modes and 3-D shapes into this folder."),
    ] = None,
    vtu: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write thickness and shapes for a 3-D viewer (.vtu).")
    ] = None,
    without: Annotated[
        str,
        typer.Option(metavar="PARTS", help="Leave out holes, bar, or holes,bar: the plate as it was before."),
    ] = "",
    show: Annotated[bool, typer.Option("--show", help="Open a window in which the shapes swing.")] = False,
) -> None:
    """Compute the tones of the free plate: Hz and note, where to hold it and where to tap it."""
    from solver.commands.modes import ModesRequest, parts_left_out, run_modes

    request = ModesRequest(folder, count, as_json, pictures, vtu, parts_left_out(without), show)
    run_modes(request, answers(), busy())
