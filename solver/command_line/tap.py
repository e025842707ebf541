"""The command line of ``platewright tap``."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import AsJson, answers, busy

EXAMPLE = "Example: platewright tap taps.wav --plate my-top --picture taps.png --log"


def tap(
    recording: Annotated[
        list[Path],
        typer.Argument(
            metavar="RECORDING...",
            help="WAV, FLAC, M4A, OGG or MP3; several are heard together.",
            show_default=False,
        ),
    ],
    plate: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER", help="The plate: which tone is which of its modes, and what is missing."
        ),
    ] = None,
    log: Annotated[bool, typer.Option("--log", help="Enter the tones into the log of the plate.")] = False,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Draw the spectrum with the tones (.png, .svg or .pdf)."),
    ] = None,
    as_typed: Annotated[
        bool, typer.Option("--as-typed", help="Enter the tones even if the recording looks spoilt.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Read the tones of a plate from recordings of taps: frequency, Q, and how sure they are.

    Leave a second of silence before the first tap and after each; hold the plate lightly at a node line, and tap lightly.
    """
    from solver.commands.tap import TapRequest, run_tap

    request = TapRequest(tuple(recording), plate, log, picture, as_typed, as_json)
    run_tap(request, answers(), busy(), input if sys.stdin.isatty() else None)
