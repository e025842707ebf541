"""The command line of ``platewright fit``."""

from typing import Annotated

import typer

from solver.command_line.parts import AsJson, Folder, answers, busy

EXAMPLE = "Example: platewright fit my-plate --entry 2026-03-14 --write"


def fit(
    folder: Folder,
    entry: Annotated[
        list[str] | None,
        typer.Option(
            metavar="STAMP",
            help="An entry of the log, or the beginning of its name; may be given again. Left out: the newest with "
            "tones, and all older ones that name their own thickness.",
            show_default=False,
        ),
    ] = None,
    write: Annotated[
        bool, typer.Option("--write", help="Keep the fitted wood in plate.toml, beside the old one.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Find the wood's own constants from the tones and the mass in the log, and say how sure they are."""
    from solver.commands.fit import FitRequest, run_fit

    run_fit(FitRequest(folder, tuple(entry or ()), write, as_json), answers(), busy())
