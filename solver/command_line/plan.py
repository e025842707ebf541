"""The command line of ``platewright plan``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import AsJson, Folder, answers, busy

EXAMPLE = "Example: platewright plan my-top --want 5=350 --want 2=152 --min-thickness 2.2"


def plan(
    folder: Folder,
    want: Annotated[
        list[str] | None,
        typer.Option(
            metavar="MODE=HZ",
            help="A wish, as in 5=350, or mass=68 in g; may be repeated. Left out: those of plate.toml.",
        ),
    ] = None,
    keep: Annotated[
        list[str] | None,
        typer.Option(metavar="MODE", help="A mode that is to stay as it is; may be repeated."),
    ] = None,
    min_thickness: Annotated[
        str | None,
        typer.Option(
            metavar="MM|FILE.csv",
            help="How thin it may get: mm, or a map x_mm,y_mm,t_mm. Left out: plate.toml's.",
        ),
    ] = None,
    max_removal: Annotated[float, typer.Option(metavar="MM", help="The deepest cut.")] = 0.6,
    symmetric: Annotated[
        bool, typer.Option("--symmetric", help="Take the same on both sides of the centre line.")
    ] = False,
    passes: Annotated[int, typer.Option(metavar="N", help="In how many passes, 2 to 6.")] = 2,
    as_json: AsJson = False,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw where to take how much (.png, .pdf or .svg).")
    ] = None,
) -> None:
    """Plan the carving: the least wood to take from the inside for the tones you want, within limits."""
    from solver.commands.plan import run_plan
    from solver.commands.plan_request import PlanOutput, PlanRequest, checked_passes

    request = PlanRequest(tuple(want or ()), tuple(keep or ()), min_thickness, max_removal, symmetric)
    run_plan(folder, request, PlanOutput(checked_passes(passes), as_json, picture), answers(), busy())
