"""The command line of ``platewright climate``."""

from typing import Annotated

import typer

from solver.command_line.parts import AsJson, Folder, answers, busy

EXAMPLE = "Example: platewright climate my-plate --to 20,70"


def climate(
    folder: Folder,
    to: Annotated[
        str, typer.Option(metavar="TEMP,RH", help="The other room: °C and % humidity.", show_default=False)
    ],
    start: Annotated[
        str | None,
        typer.Option("--from", metavar="TEMP,RH", help="The room it comes from; left out, plate.toml's."),
    ] = None,
    same_wood: Annotated[
        bool,
        typer.Option(
            "--same-wood",
            help="Nothing was carved or glued between the last two entries: trust their masses.",
        ),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Say what another room does to wood and tones, and how much of the log's last change was the weather."""
    from solver.commands.climate import ClimateRequest, room_called, run_climate

    come_from = None if start is None else room_called(start, "--from")
    request = ClimateRequest(folder, room_called(to, "--to"), come_from, same_wood, as_json)
    run_climate(request, answers(), busy())
