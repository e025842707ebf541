"""The command line of ``platewright log``."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import AsJson, Folder, answers, busy

EXAMPLE = "Example: platewright log my-top --mass 71.4 --mode 2=168 --mode 5=342 --stage 'holes cut'"


def log(
    folder: Folder,
    mass: Annotated[str | None, typer.Option(metavar="G", help="What the plate weighs, in g.")] = None,
    mode: Annotated[
        list[str] | None,
        typer.Option(metavar="N=HZ", help="A mode by its number, as in 5=342. May be repeated."),
    ] = None,
    tone: Annotated[
        list[str] | None,
        typer.Option(metavar="HZ", help="A tone of no known mode, in Hz. May be repeated."),
    ] = None,
    temperature: Annotated[str | None, typer.Option(metavar="C", help="Of the room, in °C.")] = None,
    humidity: Annotated[str | None, typer.Option(metavar="PCT", help="Of the room's air, in %.")] = None,
    stage: Annotated[str | None, typer.Option(metavar="TEXT", help="How far the plate is.")] = None,
    note: Annotated[str | None, typer.Option(metavar="TEXT", help="What else is to be kept.")] = None,
    photo: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Copied into the folder unless it lies there.")
    ] = None,
    recording: Annotated[Path | None, typer.Option(metavar="FILE", help="The same for a recording.")] = None,
    without: Annotated[
        str | None,
        typer.Option(
            metavar="PARTS", help="What plate.toml has and the plate lacked then: holes, bar or both."
        ),
    ] = None,
    thickness: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="The caliper's readings of then, if it was thicker than plate.toml says."
        ),
    ] = None,
    taken: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="When it was measured, as 2026-03-14T19:05. Left out: now."),
    ] = None,
    corrects: Annotated[
        str | None,
        typer.Option(
            metavar="STAMP",
            help="The entry to put right, by its file's name, or last. What is not given stays as it was.",
        ),
    ] = None,
    take_out: Annotated[
        list[str] | None,
        typer.Option(
            metavar="WHAT", help="Take this out of the entry to put right: mass, mode=5, note, all."
        ),
    ] = None,
    as_typed: Annotated[
        bool, typer.Option("--as-typed", help="Enter it even if it looks like a slip.")
    ] = False,
    show: Annotated[bool, typer.Option("--show", help="Show the whole log, with what changed.")] = False,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Draw it over time (.png, .svg or .pdf)."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Enter what you measured, or show what was entered.

    Without options it asks at the terminal. Nothing that was entered is ever changed: a slip is put right by a new entry.
    """
    from solver.commands.log import run_log
    from solver.commands.log_request import LogRequest, TypedEntry

    typed = TypedEntry(
        taken,
        mass,
        tuple(mode or ()),
        tuple(tone or ()),
        temperature,
        humidity,
        stage,
        note,
        photo,
        recording,
        without,
        thickness,
        corrects,
        tuple(take_out or ()),
    )
    request = LogRequest(folder, typed, as_typed, show, picture, as_json)
    run_log(request, answers(), busy(), input if sys.stdin.isatty() else None)
