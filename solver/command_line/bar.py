"""The command line of ``platewright bar``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import AsJson, Folder, answers, busy

EXAMPLE = (
    "Examples: platewright bar my-top --height 9..13 --want 5=346 --pictures my-top/bar, "
    "or platewright bar my-top --from 45,12..24 --height 11: the lower end moved from y 12 to 24 mm"
)


def bar(
    folder: Folder,
    height: Annotated[
        str | None,
        typer.Option(
            metavar="LOW..HIGH", help="Greatest height; the taper keeps its form, all in proportion."
        ),
    ] = None,
    length: Annotated[
        str | None, typer.Option(metavar="LOW..HIGH", help="Length; the middle and the slant stay.")
    ] = None,
    width: Annotated[str | None, typer.Option(metavar="LOW..HIGH", help="Width.")] = None,
    start: Annotated[
        str | None, typer.Option("--from", metavar="X,Y", help="Lower end of the bar's centre line, in mm.")
    ] = None,
    end: Annotated[str | None, typer.Option("--to", metavar="X,Y", help="Upper end.")] = None,
    shift: Annotated[
        str | None,
        typer.Option(metavar="LOW..HIGH", help="Move the whole bar to the left (the bass side of a top)."),
    ] = None,
    wood: Annotated[
        str | None, typer.Option(metavar="SPECIES", help="Wood of the bar, by its species' usual constants.")
    ] = None,
    steps: Annotated[int, typer.Option(metavar="N", help="How many bars to try, 2 to 41.")] = 9,
    want: Annotated[
        str | None,
        typer.Option(metavar="MODE=HZ", help="Find the bar that brings this mode there, as in 5=346."),
    ] = None,
    as_json: AsJson = False,
    pictures: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Draw tones, mass and node lines against it into this folder."),
    ] = None,
) -> None:
    """Try bars: what one dimension, given as a range LOW..HIGH, does to tones, node lines and mass.

    Exactly one dimension is a range; others may be single values, and what is not given stays as in the folder.
    """
    from solver.commands.bar import run_bar
    from solver.commands.bar_request import BarRequest, checked_steps, read_dimensions, read_wanted

    given = {"--height": height, "--length": length, "--width": width}
    varied, fixed = read_dimensions(given | {"--from": start, "--to": end, "--shift": shift})
    request = BarRequest(
        folder, varied, fixed, wood, checked_steps(steps), read_wanted(want), as_json, pictures
    )
    run_bar(request, answers(), busy())
