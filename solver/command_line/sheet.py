"""The command line of ``platewright sheet``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import Folder, answers, busy
from solver.command_line.wishes import Keep, MaxRemoval, MinThickness, Passes, Symmetric, Want

EXAMPLE = (
    "Examples: platewright sheet my-plate --paper Letter, or platewright sheet my-plate --plan --want 5=346"
)


def sheet(
    folder: Folder,
    paper: Annotated[str, typer.Option(metavar="PAPER", help="A4, Letter, A3 or roll.")] = "A4",
    out: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Where to write the PDF; left out, sheet.pdf in the folder."),
    ] = None,
    contour: Annotated[
        float | None,
        typer.Option(metavar="MM", help="Thickness from one line to the next. Left out: by need."),
    ] = None,
    mode: Annotated[
        list[str] | None,
        typer.Option(
            metavar="N", help="Mark where to hold and tap for mode N; may be repeated. Left out: 1, 2 and 5."
        ),
    ] = None,
    plan: Annotated[
        bool,
        typer.Option(
            "--plan", help="Draw the first pass of a carving plan; the options below are those of the plan."
        ),
    ] = False,
    trial: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Draw the wood that a trial of the bench takes, by its name."),
    ] = None,
    want: Want = None,
    keep: Keep = None,
    min_thickness: MinThickness = None,
    max_removal: MaxRemoval = None,
    symmetric: Symmetric = None,
    passes: Passes = None,
) -> None:
    """Write the plate at 1:1 as a PDF for the bench, seen from the inside, on sheets that are joined."""
    from solver.commands.plan_request import read_request
    from solver.commands.sheet import SheetRequest, checked_contour, paper_called, planned_if, run_sheet

    asked = read_request(want, keep, min_thickness, max_removal, symmetric, passes)
    request = SheetRequest(
        folder,
        paper_called(paper),
        out,
        tuple(mode or ()),
        planned_if(plan, asked),
        checked_contour(contour),
        trial,
    )
    run_sheet(request, answers(), busy())
