"""What the command lines share: the folder, the option for other programs, and where answers are printed."""

import os
import sys
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

Folder = Annotated[
    Path, typer.Argument(metavar="FOLDER", help="The folder of the plate.", show_default=False)
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")]


def answers() -> Console:
    """Return what answers are printed on."""
    return _Paper(highlight=False)


def busy() -> Console:
    """Return what shows that work is going on; silent unless a person looks at it."""
    return Console(stderr=True)


def drop_the_rest() -> None:
    """Let what is still to be printed go nowhere, so that nothing tries again at the end of the program."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


class _Paper(Console):
    """What answers are printed on."""

    def on_broken_pipe(self) -> None:
        """Go on in silence where the reader has seen enough, as in ``| head``: files may still have to be written."""
        drop_the_rest()
