"""The command line of ``platewright bench``."""

from pathlib import Path
from typing import Annotated

import typer

from solver.command_line.parts import answers

EXAMPLE = "Example: platewright bench my-top my-back"


def bench(
    folders: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="FOLDER",
            help="Plates to open; left out, the page offers some.",
            show_default=False,
        ),
    ] = None,
    port: Annotated[
        int,
        typer.Option(
            metavar="N", min=0, max=65535, help="The port; 0: that of last time, or any that is free."
        ),
    ] = 0,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Only print the address, do not open the browser.")
    ] = False,
) -> None:
    """See and try everything in the browser: the plate, the scraper, the modes, the bar, the sheet."""
    from solver.bench.serve import BenchRequest, run_bench

    run_bench(BenchRequest(tuple(folders or ()), port, not no_browser), answers())
