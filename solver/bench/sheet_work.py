"""The sheet for the bench drawn in a process of its own."""

import json
import tempfile
from pathlib import Path

from solver.bench.work import Progress
from solver.commands.sheet import SheetRequest, paper_called, sheet_content
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_folder
from solver.viewer.sheet.write import write_sheet


def sheet_order(folder: Path, paper: str, contour_mm: float | None) -> str:
    """Return what is to be drawn as it is handed to the process."""
    return json.dumps({"folder": str(folder), "paper": paper, "contour_mm": contour_mm})


def draw_sheet(progress: Progress, order_text: str) -> bytes:
    """Return the PDF, the same as ``platewright sheet`` writes; raises InputError as that command."""
    order = json.loads(order_text)
    progress.say("Reading the plate", 0.0)
    description = read_description(Path(order["folder"]))
    read = read_folder(description)
    progress.say("Solving for its tones", 0.2)
    paper = paper_called(order["paper"])
    request = SheetRequest(description.folder, paper, None, (), None, order["contour_mm"])
    content = sheet_content(read, request)
    progress.say("Drawing the sheets", 0.6)
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "sheet.pdf"
        write_sheet(content, paper, path)
        return path.read_bytes()
