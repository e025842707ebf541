"""The command line of ``platewright pattern``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import AsJson, Folder, answers, busy

EXAMPLE = "Example: platewright pattern my-top ring.jpg --hz 345 --picture ring-lines.png"


def pattern(
    folder: Folder,
    photo: Annotated[
        Path,
        typer.Argument(
            metavar="PHOTO", help="A JPEG or PNG of the whole plate with powder on it.", show_default=False
        ),
    ],
    hz: Annotated[
        float | None,
        typer.Option(metavar="F", help="The tone that was played, in Hz: tones far from it count less."),
    ] = None,
    mode: Annotated[
        str | None, typer.Option(metavar="N", help="The mode that it is; left out, the lines tell.")
    ] = None,
    seen: Annotated[
        str | None,
        typer.Option(
            metavar="SIDE", help="inside or outside: the side that the camera saw; left out, the lines tell."
        ),
    ] = None,
    landmark: Annotated[
        list[str] | None,
        typer.Option(
            metavar="X_PX,Y_PX=X_MM,Y_MM",
            help="A place on the photo and on the plate, four or more where the edge is not found; neck, tail, upper-left, "
            "upper-right, lower-left or lower-right may stand for the mm.",
        ),
    ] = None,
    lines: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Where the seen lines go (CSV); left out, beside the photo."),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Draw the straightened photo and the lines (.png, .pdf or .svg)."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Read a powder pattern off a photo: which mode it shows, and where its lines part from the computed ones."""
    from solver.commands.pattern import run_pattern
    from solver.commands.pattern_request import PatternRequest, checked_hz, checked_side, read_landmarks

    request = PatternRequest(
        folder,
        photo,
        checked_hz(hz),
        mode,
        checked_side(seen),
        read_landmarks(landmark or ()),
        lines,
        picture,
        as_json,
    )
    run_pattern(request, answers(), busy())
