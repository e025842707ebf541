"""The command line of ``platewright pair``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import AsJson, answers, busy

EXAMPLE = "Example: platewright pair my-top my-back --relation 5=+80..+180"


def pair(
    top: Annotated[Path, typer.Argument(metavar="TOP", help="The folder of the top.", show_default=False)],
    back: Annotated[Path, typer.Argument(metavar="BACK", help="The folder of the back.", show_default=False)],
    relation: Annotated[
        list[str] | None,
        typer.Option(
            metavar="MODE=INTERVAL",
            help="The back above the top: same, semitone, tone, +50 (cents), or a range as +80..+180; may be "
            "repeated. Left out, the intervals are shown and not judged.",
        ),
    ] = None,
    to: Annotated[
        str | None,
        typer.Option(metavar="TEMP,RH", help="The room to compare in: °C and %; left out, the top's."),
    ] = None,
    as_json: AsJson = False,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw the intervals (.png, .pdf or .svg).")
    ] = None,
) -> None:
    """Hold top and back side by side: intervals between like modes, and what would bring them to those that you want."""
    from solver.commands.climate import room_called
    from solver.commands.pair import run_pair
    from solver.commands.pair_request import PairRequest, read_relations

    room = None if to is None else room_called(to, "--to")
    request = PairRequest(top, back, read_relations(relation or ()), room, as_json, picture)
    run_pair(request, answers(), busy())
