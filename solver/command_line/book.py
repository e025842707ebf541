"""The command line of ``platewright book``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import AsJson, answers

EXAMPLE = "Example: platewright book my-plates --role top --min mode5=340 --sort mass"


def book(
    folder: Annotated[
        Path,
        typer.Argument(
            metavar="FOLDER-OF-PLATES",
            help="The folder in which the plates' folders lie.",
            show_default=False,
        ),
    ],
    least: Annotated[
        list[str] | None,
        typer.Option("--min", metavar="FIGURE=N", help="Only plates with at least that, as mode5=340."),
    ] = None,
    most: Annotated[
        list[str] | None,
        typer.Option("--max", metavar="FIGURE=N", help="Only plates with at most that, as mass=70."),
    ] = None,
    role: Annotated[str, typer.Option(metavar="TEXT", help="Only tops, backs or panels.")] = "",
    size: Annotated[
        str, typer.Option(metavar="TEXT", help="Only violin, viola or cello, by the body's length.")
    ] = "",
    species: Annotated[str, typer.Option(metavar="TEXT", help="Only this wood, as spruce.")] = "",
    cut: Annotated[str, typer.Option(metavar="TEXT", help="Only quarter, slab or between.")] = "",
    stage: Annotated[str, typer.Option(metavar="TEXT", help="Only plates at this stage.")] = "",
    sort: Annotated[str, typer.Option(metavar="COLUMN", help="Order by this, as mass or taken.")] = "name",
    descending: Annotated[bool, typer.Option("--descending", help="The greatest first.")] = False,
    first: Annotated[int, typer.Option(metavar="N", min=0, help="How many are shown; 0 for all.")] = 40,
    scatter: Annotated[
        str | None, typer.Option(metavar="X,Y", help="The trend of two figures, as mass,mode5.")
    ] = None,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw it (.png, .svg or .pdf), with --scatter.")
    ] = None,
    like: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="The plates most like this one, nearest first.")
    ] = None,
    room: Annotated[
        str, typer.Option(metavar="TEMP,RH", help="The room to which mass and modes are brought.")
    ] = "20,50",
    csv: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the plates for a spreadsheet.")
    ] = None,
    parquet: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the plates as Parquet.")] = None,
    as_json: AsJson = False,
) -> None:
    """Show all plates as one table: wood, mass, thickness, tones; which are alike, and what goes with what.

    Figures: mass, thickness (mean), thinnest, mode1, mode2 ...; where fitted also density, EL, ER, ET, GLR, GLT, GRT.
    """
    from solver.commands.book import run_book
    from solver.commands.book_request import (
        BookRequest,
        bound_typed,
        check_picture,
        order_typed,
        scatter_typed,
    )
    from solver.commands.climate import room_called

    bounds = [bound_typed("--min", text) for text in least or ()] + [
        bound_typed("--max", text) for text in most or ()
    ]
    words = {"role": role, "size": size, "species": species, "cut": cut, "stage": stage}
    check_picture(picture, scatter)
    request = BookRequest(
        folder=folder,
        room=room_called(room, "--room"),
        bounds=tuple(bounds),
        words=tuple((column, text) for column, text in words.items() if text),
        sort=order_typed(sort),
        descending=descending,
        first=first,
        scatter=scatter_typed(scatter) if scatter is not None else None,
        picture=picture,
        like=like,
        csv=csv,
        parquet=parquet,
        as_json=as_json,
    )
    run_book(request, answers())
