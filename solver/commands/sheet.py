"""``platewright sheet``: the plate at its true size on paper, to take to the bench."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from solver.commands.headline import headline
from solver.commands.plan_request import PlanRequest, read_wishes
from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate_folder.description import read_description
from solver.viewer.sheet.paper import PAPER_NAMES, PaperName

if TYPE_CHECKING:
    from solver.plate_folder.read import PlateFolder
    from solver.viewer.sheet.content import SheetContent

FILE_NAME = "sheet.pdf"
"""Where the sheet is written in the plate's folder unless another file is named."""


CONTOUR_MM = (0.05, 1.0)
"""Least and greatest step from one line of thickness to the next."""


@dataclass(frozen=True)
class SheetRequest:
    """What the maker asked for: the plate as it is, a plan or a trial; without modes the usual ones are marked.

    Raises InputError if both a plan and a trial are asked for.
    """

    folder: Path
    paper: PaperName
    out: Path | None
    modes: tuple[str, ...]
    plan: PlanRequest | None
    contour_mm: float | None = None
    trial: str | None = None

    def __post_init__(self) -> None:
        if self.plan is not None and self.trial is not None:
            raise InputError(
                "platewright sheet: both a plan and a trial are asked for; expected one of them. "
                "Leave out --plan or --trial."
            )


def planned_if(plan: bool, asked: PlanRequest) -> PlanRequest | None:
    """Return what is asked of a plan, None if none is to be drawn; raises InputError for wishes without one."""
    if plan:
        return asked
    if asked != PlanRequest():
        raise InputError(
            "platewright sheet: wishes and limits are given, but no plan is asked for; expected them with --plan. "
            "Add --plan, or take them out."
        )
    return None


def paper_called(text: str) -> PaperName:
    """Return the paper of a name in small or large letters; raises InputError for any other name."""
    for name in PAPER_NAMES:
        if text.lower() == name.lower():
            return name
    raise InputError(f"--paper: '{text}'; expected one of {', '.join(PAPER_NAMES)}. Choose one of them.")


def checked_contour(step_mm: float | None) -> float | None:
    """Return the step from one line of thickness to the next [mm]; raises InputError if nobody could read such lines."""
    low, high = CONTOUR_MM
    if step_mm is not None and not low <= step_mm <= high:
        raise InputError(
            f"--contour: {step_mm:g} mm; expected {low:g} to {high:g}, because closer lines run together and wider ones "
            "say nothing. Choose a step in between."
        )
    return step_mm


def run_sheet(request: SheetRequest, out: Console, busy: Console) -> None:
    """Write the sheet as a PDF and say what is on how many pages.

    Raises InputError if the folder cannot be understood, a mode is not found, or the file cannot be written.
    """
    description = read_description(request.folder)
    if request.plan is not None:
        read_wishes(request.plan, description.table.wanted)
    if request.trial is not None:
        from solver.commands.sheet_trial import open_trial

        open_trial(description.folder, request.trial)
    out.print(headline(description.table))
    with busy.status("Reading the plate"):
        from solver.plate_folder.read import read_folder

        read = read_folder(description)
    with busy.status("Solving" if request.plan is None else "Planning"):
        content = sheet_content(read, request)
    path = request.out or request.folder / FILE_NAME
    with busy.status("Drawing"):
        from solver.viewer.sheet.write import write_sheet

        tiling = write_sheet(content, request.paper, path)
    if content.removal is not None:
        out.print("\n".join(content.removal.said), markup=False)
    out.print(f"Written to {path}: {pages_in_words(request.paper, len(tiling.tiles))}", markup=False)
    out.print("Print at 100 %, not fitted to the page, and measure both rulers before you trust it.")


def pages_in_words(paper: PaperName, tiles: int) -> str:
    """Say what is on how many pages."""
    if paper == "roll":
        return "the plate at 1:1, seen from the inside, on one page for a roll."
    sheets = f"{tiles} {'sheet' if tiles == 1 else 'sheets'} of {paper}"
    return f"an overview, and the plate at 1:1, seen from the inside, on {sheets}."


def sheet_content(read: "PlateFolder", request: SheetRequest) -> "SheetContent":
    """Return what stands on the sheet; raises InputError as `run_sheet`."""
    from solver.commands.sheet_content import content_as_it_is
    from solver.commands.sheet_plan import planned_content
    from solver.commands.sheet_trial import trial_content

    if request.plan is not None:
        content = planned_content(read, request.plan, request.modes)
    elif request.trial is not None:
        content = trial_content(read, request.trial, request.modes)
    else:
        content = content_as_it_is(read, request.modes)
    step = None if request.contour_mm is None else request.contour_mm * MM
    return replace(content, contour_step=step)
