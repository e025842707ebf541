"""The sheet for the bench drawn in a process of its own."""

import json
import tempfile
from dataclasses import dataclass
from pathlib import Path

from solver.bench.picture import LINES, in_microns
from solver.bench.work import Progress
from solver.commands.plan_request import PlanRequest, read_request
from solver.commands.sheet import SheetRequest, paper_called, sheet_content
from solver.commands.sheet_trial import open_trial
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_folder
from solver.viewer.plan_view import plan_grid
from solver.viewer.sheet.content import SheetContent
from solver.viewer.sheet.write import write_sheet


@dataclass(frozen=True)
class DrawnSheet:
    """The PDF; of a plan or trial what is said of it, and the wood to take on the page's grid, in micrometres."""

    pdf: bytes
    said: tuple[str, ...]
    taken_um: tuple[int, ...] | None


def sheet_order(
    folder: Path, paper: str, contour_mm: float | None, passes: int | None, trial: str | None
) -> str:
    """Return what is to be drawn as it is handed to the process: ``passes`` of a plan, a ``trial``, or the plate as it is.

    Raises InputError for both, for a number of passes that nobody makes, and for a trial that cannot be drawn.
    """
    if passes is not None:
        _plan(passes)
    if trial is not None:
        open_trial(folder, trial)
    return json.dumps(
        {"folder": str(folder), "paper": paper, "contour_mm": contour_mm, "passes": passes, "trial": trial}
    )


def _plan(passes: int) -> PlanRequest:
    """Return the plan for the wishes of plate.toml; raises InputError for a number of passes that nobody makes."""
    return read_request(None, None, None, None, None, passes)


def draw_sheet(progress: Progress, order_text: str) -> DrawnSheet:
    """Return the PDF, the same as ``platewright sheet`` writes; raises InputError as that command."""
    order = json.loads(order_text)
    progress.say("Reading the plate", 0.0)
    description = read_description(Path(order["folder"]))
    read = read_folder(description)
    passes, paper = order["passes"], paper_called(order["paper"])
    plan = None if passes is None else _plan(passes)
    planning = "Planning: the thinned plate is solved again and again"
    progress.say("Solving for its tones" if plan is None else planning, 0.2)
    content = sheet_content(
        read, SheetRequest(description.folder, paper, None, (), plan, order["contour_mm"], order["trial"])
    )
    progress.say("Drawing the sheets", 0.6 if plan is None else 0.85)
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "sheet.pdf"
        write_sheet(content, paper, path)
        pdf = path.read_bytes()
    said = () if content.removal is None else content.removal.said
    return DrawnSheet(pdf, said, _taken(content))


def _taken(content: SheetContent) -> tuple[int, ...] | None:
    """Return the wood to take at the points of the page's grid, none of it under the bar."""
    if content.removal is None:
        return None
    grid = plan_grid(content.plate.outline, LINES)
    return tuple(in_microns(grid.field(content.removal.depth(grid.points)).ravel()))
