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

STOPPED = 130
"""Exit code where the maker stopped the command, as shells have it."""

app = typer.Typer(
    help="The free modes of violin, viola and cello plates, for the maker who graduates them.",
    epilog="Example: platewright modes my-plate",
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode="rich",
)

_STOCK_HELP = "violin-top, violin-back, viola-top, viola-back, cello-top, cello-back or panel."
Folder = Annotated[
    Path, typer.Argument(metavar="FOLDER", help="The folder of the plate.", show_default=False)
]


@app.command(
    epilog="Examples: platewright bar my-top --height 9..13 --want 5=350 --pictures my-top/bar, "
    "or platewright bar my-top --from 45,12..24 --height 11: the lower end moved from y 12 to 24 mm"
)
def bar(
    folder: Folder,
    height: Annotated[
        str | None,
        typer.Option(
            metavar="LOW..HIGH", help="Greatest height; the taper keeps its form, all in proportion."
        ),
    ] = None,
    length: Annotated[
        str | None, typer.Option(metavar="LOW..HIGH", help="Length; the middle and the slant stay.")
    ] = None,
    width: Annotated[str | None, typer.Option(metavar="LOW..HIGH", help="Width.")] = None,
    start: Annotated[
        str | None, typer.Option("--from", metavar="X,Y", help="Lower end of the bar's centre line, in mm.")
    ] = None,
    end: Annotated[str | None, typer.Option("--to", metavar="X,Y", help="Upper end.")] = None,
    shift: Annotated[
        str | None,
        typer.Option(metavar="LOW..HIGH", help="Move the whole bar to the left (the bass side of a top)."),
    ] = None,
    wood: Annotated[
        str | None, typer.Option(metavar="SPECIES", help="Wood of the bar, by its species' usual constants.")
    ] = None,
    steps: Annotated[int, typer.Option(metavar="N", help="How many bars to try, 2 to 41.")] = 9,
    want: Annotated[
        str | None,
        typer.Option(metavar="MODE=HZ", help="Find the bar that brings this mode there, as in 5=350."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
    pictures: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Draw tones, mass and node lines against it into this folder."),
    ] = None,
) -> None:
    """Try bars: what one dimension, given as a range LOW..HIGH, does to tones, node lines and mass.

    Exactly one dimension is a range; others may be single values, and what is not given stays as in the folder.
    """
    from solver.commands.bar import run_bar
    from solver.commands.bar_request import BarRequest, checked_steps, read_dimensions, read_wanted

    given = {"--height": height, "--length": length, "--width": width}
    varied, fixed = read_dimensions(given | {"--from": start, "--to": end, "--shift": shift})
    request = BarRequest(
        folder, varied, fixed, wood, checked_steps(steps), read_wanted(want), as_json, pictures
    )
    run_bar(request, _paper(), _busy())


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


@app.command(epilog="Example: platewright climate my-plate --to 20,70")
def climate(
    folder: Folder,
    to: Annotated[
        str, typer.Option(metavar="TEMP,RH", help="The other room: deg C and % humidity.", show_default=False)
    ],
    start: Annotated[
        str | None,
        typer.Option("--from", metavar="TEMP,RH", help="The room it comes from; left out, plate.toml's."),
    ] = None,
    same_wood: Annotated[
        bool,
        typer.Option(
            "--same-wood",
            help="Nothing was carved or glued between the last two entries: trust their masses.",
        ),
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
) -> None:
    """Say what another room does to wood and tones, and how much of the log's last change was the weather."""
    from solver.commands.climate import ClimateRequest, room_called, run_climate

    come_from = None if start is None else room_called(start, "--from")
    request = ClimateRequest(folder, room_called(to, "--to"), come_from, same_wood, as_json)
    run_climate(request, _paper(), _busy())


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


@app.command(epilog="Example: platewright new my-plate --like viola-top --length 408")
def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where to put it.", show_default=False)],
    like: Annotated[str, typer.Option(metavar="PLATE", help=_STOCK_HELP, show_default=False)],
    length: Annotated[
        float | None, typer.Option(metavar="MM", help="Length of the plate in mm; left out, the usual one.")
    ] = None,
) -> None:
    """Make the folder of a usual plate, to be edited into one's own."""
    from solver.commands.new import run_new

    run_new(folder, like, length, _paper(), _busy())


@app.command(epilog="Example: platewright plan my-top --want 5=350 --want 2=152 --min-thickness 2.2")
def plan(
    folder: Folder,
    want: Annotated[
        list[str] | None,
        typer.Option(
            metavar="MODE=HZ",
            help="A wish, as in 5=350, or mass=68 in g; may be repeated. Left out: those of plate.toml.",
        ),
    ] = None,
    keep: Annotated[
        list[str] | None,
        typer.Option(metavar="MODE", help="A mode that is to stay as it is; may be repeated."),
    ] = None,
    min_thickness: Annotated[
        str | None,
        typer.Option(
            metavar="MM|FILE.csv",
            help="How thin it may get: mm, or a map x_mm,y_mm,t_mm. Left out: plate.toml's.",
        ),
    ] = None,
    max_removal: Annotated[float, typer.Option(metavar="MM", help="The deepest cut.")] = 0.6,
    symmetric: Annotated[
        bool, typer.Option("--symmetric", help="Take the same on both sides of the centre line.")
    ] = False,
    passes: Annotated[int, typer.Option(metavar="N", help="In how many passes, 2 to 6.")] = 2,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw where to take how much (.png, .pdf or .svg).")
    ] = None,
) -> None:
    """Plan the carving: the least wood to take from the inside for the tones you want, within limits."""
    from solver.commands.plan import run_plan
    from solver.commands.plan_request import PlanOutput, PlanRequest, checked_passes

    request = PlanRequest(tuple(want or ()), tuple(keep or ()), min_thickness, max_removal, symmetric)
    run_plan(folder, request, PlanOutput(checked_passes(passes), as_json, picture), _paper(), _busy())


@app.command(
    epilog="Example: platewright shave my-top --spot 250,0,30,0.2 --spot 95,-60,25,0.3 --pictures my-top/shaved"
)
def shave(
    folder: Folder,
    spot: Annotated[
        list[str] | None,
        typer.Option(
            metavar="X,Y,RADIUS,DEPTH",
            help="A round hollow from the inside, in mm: its middle, its radius, and how deep it is there; "
            "may be repeated.",
        ),
    ] = None,
    count: Annotated[int, typer.Option(metavar="N", help="How many tones, 1 to 16.")] = 8,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
    pictures: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Draw the node lines before and after into this folder."),
    ] = None,
) -> None:
    """Try a shaving before it is taken: each tone before and after, mass, and the thickness that is left."""
    from solver.commands.shave import run_shave
    from solver.commands.shave_request import ShaveRequest, checked_count, read_spots

    request = ShaveRequest(folder, read_spots(spot or ()), checked_count(count), as_json, pictures)
    run_shave(request, _paper(), _busy())


@app.command(epilog="Example: platewright sheet my-plate --paper Letter")
def sheet(
    folder: Folder,
    paper: Annotated[str, typer.Option(metavar="PAPER", help="A4, Letter, A3 or roll.")] = "A4",
    out: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Where to write the PDF; left out, sheet.pdf in the folder."),
    ] = None,
    mode: Annotated[
        list[str] | None,
        typer.Option(
            metavar="N", help="Mark where to hold and tap for mode N; may be repeated. Left out: 1, 2 and 5."
        ),
    ] = None,
) -> None:
    """Write the plate at 1:1 as a PDF for the bench, seen from the inside, on sheets that are joined."""
    from solver.commands.sheet import SheetRequest, paper_called, run_sheet

    request = SheetRequest(folder, paper_called(paper), out, tuple(mode or ()))
    run_sheet(request, _paper(), _busy())


@app.command(epilog="Example: platewright where my-top --mode 5 --mode 2 --pictures my-top/where")
def where(
    folder: Folder,
    mode: Annotated[
        list[str] | None,
        typer.Option(
            metavar="N",
            help="The mode to be moved; further ones are to stay. May be repeated. Left out: 1, 2 and 5.",
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Draw the maps (.pdf, or .png and .svg with -2, -3 for more pages)."
        ),
    ] = None,
    pictures: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Draw the maps into this folder.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
) -> None:
    """Say where a shaving lowers a mode most, where it raises it, and where it moves one mode but not another."""
    from solver.commands.where import WhereRequest, run_where

    run_where(WhereRequest(folder, tuple(mode or ()), picture, pictures, as_json), _paper(), _busy())


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
        _drop_the_rest()
        return _refuse("The disk is full; expected room for the answer. Free some room and try again.")
    return int(code or 0)


def _usage(message: str) -> str:
    """Return a sentence about a slip on the command line; empty where the help itself was the answer."""
    return f"{' '.join(message.split()).rstrip('.')}. For help: platewright --help" if message else ""


def _refuse(sentence: str) -> int:
    if sentence:
        print(sentence, file=sys.stderr)
    return 2


class _Paper(Console):
    """What answers are printed on."""

    def on_broken_pipe(self) -> None:
        """Go on in silence where the reader has seen enough, as in ``| head``: files may still have to be written."""
        _drop_the_rest()


def _drop_the_rest() -> None:
    """Let what is still to be printed go nowhere, so that nothing tries again at the end of the program."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _paper() -> Console:
    return _Paper(highlight=False)


def _busy() -> Console:
    """Return what shows that work is going on; silent unless a person looks at it."""
    return Console(stderr=True)


if __name__ == "__main__":
    sys.exit(main())
