"""The command line of ``platewright plan``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import AsJson, Folder, answers, busy
from solver.command_line.wishes import Keep, MaxRemoval, MinThickness, Passes, Symmetric, Want

EXAMPLE = "Example: platewright plan my-top --want 5=346 --want 2=150 --min-thickness 2.2"


def plan(
    folder: Folder,
    want: Want = None,
    keep: Keep = None,
    min_thickness: MinThickness = None,
    max_removal: MaxRemoval = None,
    symmetric: Symmetric = None,
    passes: Passes = None,
    as_json: AsJson = False,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw where to take how much (.png, .pdf or .svg).")
    ] = None,
) -> None:
    """Plan the carving: the least wood to take from the inside for the tones you want, within limits."""
    from solver.commands.plan import PlanOutput, run_plan
    from solver.commands.plan_request import read_request

    request = read_request(want, keep, min_thickness, max_removal, symmetric, passes)
    run_plan(folder, request, PlanOutput(as_json, picture), answers(), busy())
