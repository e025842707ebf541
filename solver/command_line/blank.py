"""The command line of ``platewright blank``."""

from typing import Annotated

import typer

from solver.command_line.parts import AsJson, Folder, answers, busy

EXAMPLE = "Example: platewright blank my-board"


def blank(
    folder: Folder,
    entry: Annotated[
        str | None,
        typer.Option(metavar="STAMP", help="Which entry of the log; left out, the newest that has tones."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Find the wood of a rectangular board before carving: stiffness and speed of sound from mass and first tones."""
    from solver.commands.blank import BlankRequest, run_blank

    run_blank(BlankRequest(folder, entry, as_json), answers(), busy())
