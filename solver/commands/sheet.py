"""``platewright sheet``: the plate at its true size on paper, to take to the bench."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from solver.commands.headline import headline
from solver.errors import InputError
from solver.plate_folder.description import Description, read_description
from solver.units import MM
from solver.viewer.sheet.paper import PAPER_NAMES, PaperName

if TYPE_CHECKING:
    from solver.modal.modes import Modes
    from solver.plate.plate import Plate
    from solver.viewer.sheet.content import SheetContent

TONES = 8
"""Tones computed, among which those of the modes to be marked are found."""

FILE_NAME = "sheet.pdf"
"""Where the sheet is written in the plate's folder unless another file is named."""


@dataclass(frozen=True)
class SheetRequest:
    """What the maker asked for on the command line; without modes the usual ones are marked."""

    folder: Path
    paper: PaperName
    out: Path | None
    modes: tuple[str, ...]


def paper_called(text: str) -> PaperName:
    """Return the paper of a name in small or large letters; raises InputError for any other name."""
    for name in PAPER_NAMES:
        if text.lower() == name.lower():
            return name
    raise InputError(f"--paper: '{text}'; expected one of {', '.join(PAPER_NAMES)}. Choose one of them.")


def run_sheet(request: SheetRequest, out: Console, busy: Console) -> None:
    """Write the sheet as a PDF and say what is on how many pages.

    Raises InputError if the folder cannot be understood, a mode is not found, or the file cannot be written.
    """
    description = read_description(request.folder)
    out.print(headline(description.table))
    with busy.status("Reading the plate"):
        from solver.plate_folder.read import read_folder

        plate = read_folder(description).plate
    with busy.status("Solving"):
        from solver.modal.modes import solve_modes

        modes = solve_modes(plate, TONES)
    path = request.out or request.folder / FILE_NAME
    with busy.status("Drawing"):
        from solver.viewer.sheet.write import write_sheet

        tiling = write_sheet(_content(description, plate, modes, request.modes), request.paper, path)
    out.print(f"Written to {path}: {_pages(request.paper, len(tiling.tiles))}", markup=False)
    out.print("Print at 100 %, not fitted to the page, and measure both rulers before you trust it.")


def _pages(paper: PaperName, tiles: int) -> str:
    """Say what is on how many pages."""
    if paper == "roll":
        return "the plate at 1:1, seen from the inside, on one page for a roll."
    sheets = f"{tiles} {'sheet' if tiles == 1 else 'sheets'} of {paper}"
    return f"an overview, and the plate at 1:1, seen from the inside, on {sheets}."


def _content(
    description: Description, plate: "Plate", modes: "Modes", asked: Sequence[str]
) -> "SheetContent":
    from solver.viewer.sheet.content import SheetContent

    wanted = description.table.wanted
    least = wanted.min_thickness_mm if wanted else None
    return SheetContent(
        folder_name=description.folder.resolve().name,
        made=date.today(),
        plate=plate,
        modes=modes,
        shown=_shown(modes, asked),
        wanted_hz=wanted.modes_hz if wanted else {},
        min_thickness=None if least is None else least * MM,
        log=tuple(description.log.values()),
    )


def _shown(modes: "Modes", asked: Sequence[str]) -> tuple[int, ...]:
    """Return the places of the modes asked for; of the usual ones, or else of the lowest, where none are."""
    from solver.viewer.sheet.content import USUAL_TONES

    for name in asked:
        if name not in modes.names:
            found = ", ".join(sorted(found for found in modes.names if found)) or "none"
            raise InputError(
                f"--mode: no tone of this plate has the shape of mode {name}; expected one that was found: {found}. "
                "See them with: platewright modes"
            )
    named = [name for name in dict.fromkeys(asked or USUAL_TONES) if name in modes.names]
    return tuple(modes.names.index(name) for name in named) or tuple(range(len(USUAL_TONES)))
