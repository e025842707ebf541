"""``platewright check``: what was understood of a plate folder."""

from pathlib import Path

from rich.console import Console

from solver.commands.headline import headline
from solver.plate_folder.description import read_description
from solver.viewer.page_files import picture_kind


def run_check(folder: Path, picture: Path | None, out: Console, busy: Console) -> None:
    """Say in words what the folder describes, and draw it if a picture is asked for.

    Raises InputError if the folder cannot be understood or the picture not be written.
    """
    if picture is not None:
        picture_kind(picture)
    description = read_description(folder)
    out.print(headline(description.table))
    with busy.status("Reading the plate"):
        from solver.commands.understood import understood
        from solver.plate_folder.read import read_folder

        read = read_folder(description)
        report = understood(read)
    out.print(report)
    if picture is not None:
        with busy.status("Drawing"):
            from solver.viewer.figures import draw_check

            draw_check(read.plate, picture)
        out.print(f"Drawn to {picture}", markup=False)
