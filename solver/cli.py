"""The command ``platewright``: words and pictures out, or one sentence where something is wrong."""

import errno
import io
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from solver.errors import InputError

app = typer.Typer(
    help="The free modes of violin, viola and cello plates, for the maker who graduates them.",
    epilog="Example: platewright modes my-plate",
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode="rich",
)

Folder = Annotated[
    Path, typer.Argument(metavar="FOLDER", help="The folder of the plate.", show_default=False)
]


@app.command(epilog="Example: platewright check my-plate --picture my-plate.png")
def check(
    folder: Folder,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw what was understood (.png, .pdf or .svg).")
    ] = None,
) -> None:
    """Say what was understood of a plate, before anything is computed."""
    from solver.commands.check import run_check

    run_check(folder, picture, _paper(), _busy())


@app.command(epilog="Example: platewright modes my-plate --pictures my-plate/pictures")
def modes(
    folder: Folder,
    count: Annotated[int, typer.Option(metavar="N", help="How many tones, 1 to 40.")] = 8,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
    pictures: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Draw thickness, modes and 3-D shapes into this folder."),
    ] = None,
    vtu: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write thickness and shapes for a 3-D viewer (.vtu).")
    ] = None,
    without: Annotated[
        str,
        typer.Option(metavar="PARTS", help="Leave out holes, bar, or holes,bar: the plate as it was before."),
    ] = "",
    show: Annotated[bool, typer.Option("--show", help="Open a window in which the shapes swing.")] = False,
) -> None:
    """Compute the tones of the free plate: Hz and note, where to hold it and where to tap it."""
    from solver.commands.modes import ModesRequest, parts_left_out, run_modes

    request = ModesRequest(folder, count, as_json, pictures, vtu, parts_left_out(without), show)
    run_modes(request, _paper(), _busy())


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0, or 2 with one sentence if it cannot be done as asked."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A title may hold letters that an old terminal lacks: better a question mark than no answer.
            stream.reconfigure(errors="replace")
    try:
        code = app(args=arguments, prog_name="platewright", standalone_mode=False)
        sys.stdout.flush()
    except InputError as error:
        return _refuse(str(error))
    except typer.TyperException as error:
        return _refuse(_usage(error.format_message()))
    except BrokenPipeError:
        # Who read the answer has seen enough (as in "| head"); nothing must be tried again at the end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except OSError as error:
        if error.errno != errno.ENOSPC:
            raise
        return _refuse("The disk is full; expected room for the answer. Free some room and try again.")
    return int(code or 0)


def _usage(message: str) -> str:
    """Return a sentence about a slip on the command line; empty where the help itself was the answer."""
    return f"{message.rstrip('.')}. For help: platewright --help" if message else ""


def _refuse(sentence: str) -> int:
    if sentence:
        print(sentence, file=sys.stderr)
    return 2


def _paper() -> Console:
    """Return what answers are printed on."""
    return Console(highlight=False, soft_wrap=False)


def _busy() -> Console:
    """Return what shows that work is going on; silent unless a person looks at it."""
    return Console(stderr=True)


if __name__ == "__main__":
    sys.exit(main())
