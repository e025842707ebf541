"""The command ``platewright``: words and pictures out, or one sentence where something is wrong."""

import errno
import io
import re
import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from solver.command_line import (
    bar,
    bench,
    blank,
    book,
    check,
    climate,
    fit,
    log,
    modes,
    new,
    pair,
    pattern,
    plan,
    shave,
    sheet,
    tap,
    where,
)
from solver.command_line.parts import drop_the_rest
from solver.core.errors import InputError
from solver.core.version import MADE_BY

STOPPED = 130
"""Exit code where the maker stopped the command, as shells have it."""

_INVALID = re.compile(r"^Invalid value for '([^']+)': ")
_NOT_A_NUMBER = {
    "number": "expected a number, with a point for the decimal comma, as in 2.5",
    "integer": "expected a whole number, as in 8",
}
"""What the option parser calls a wrong number, by the kind of number, and what a maker is told."""

app = typer.Typer(
    epilog="Example: platewright modes my-plate",
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode="rich",
)


def say_version(wanted: bool) -> None:
    """Print the version and end, if that is what was asked for."""
    if wanted:
        print(MADE_BY)
        raise typer.Exit


@app.callback()
def platewright(
    version: Annotated[  # `say_version` gets it
        bool,
        typer.Option("--version", callback=say_version, is_eager=True, help="Say which version this is."),
    ] = False,
) -> None:
    """The free modes of violin, viola and cello plates, for the maker who graduates them."""


for command, example in (
    (bar.bar, bar.EXAMPLE),
    (bench.bench, bench.EXAMPLE),
    (blank.blank, blank.EXAMPLE),
    (book.book, book.EXAMPLE),
    (check.check, check.EXAMPLE),
    (climate.climate, climate.EXAMPLE),
    (fit.fit, fit.EXAMPLE),
    (log.log, log.EXAMPLE),
    (modes.modes, modes.EXAMPLE),
    (new.new, new.EXAMPLE),
    (pair.pair, pair.EXAMPLE),
    (pattern.pattern, pattern.EXAMPLE),
    (plan.plan, plan.EXAMPLE),
    (shave.shave, shave.EXAMPLE),
    (sheet.sheet, sheet.EXAMPLE),
    (tap.tap, tap.EXAMPLE),
    (where.where, where.EXAMPLE),
):
    app.command(epilog=example)(command)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0, or 2 with one sentence if it cannot be done as asked.

    A command that is stopped leaves nothing half-written and returns 130. Whatever else is raised is a bug.
    """
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
    except typer.Abort:
        return STOPPED
    except OSError as error:
        if error.errno != errno.ENOSPC:
            raise
        drop_the_rest()
        return _refuse("The disk is full; expected room for the answer. Free some room and try again.")
    return int(code or 0)


def _usage(message: str) -> str:
    """Return a sentence about a slip on the command line; empty where the help itself was the answer."""
    said = _INVALID.sub(r"\1: ", " ".join(message.split()).rstrip("."))
    for kind, words in _NOT_A_NUMBER.items():
        said = re.sub(f"Input should be a valid {kind}, .*", words, said)
    return f"{said}. For help: platewright --help" if message else ""


def _refuse(sentence: str) -> int:
    if sentence:
        print(sentence, file=sys.stderr)
    return 2


if __name__ == "__main__":
    sys.exit(main())
