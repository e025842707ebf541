"""All pictures of a plate and its modes, in one folder."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from solver.core.atomic_write import whole_folder
from solver.modal.modes import Modes
from solver.plate.plate import Plate
from solver.viewer.figures import draw_graduation
from solver.viewer.mode_sheet import draw_modes
from solver.viewer.scene_process import render_scenes


@dataclass(frozen=True)
class PictureReport:
    """The pictures that were written; and what is missing and its cure, in one sentence."""

    paths: tuple[Path, ...]
    problem: str | None


def write_pictures(modes: Modes, plate: Plate, folder: Path) -> PictureReport:
    """Write the graduation map, the sheet of modes and the 3-D pictures into a folder, made if need be.

    Where 3-D pictures cannot be drawn the others are written all the same. Both kinds are drawn at once.

    Raises
    ------
    InputError
        If nothing can be written there; then the folder is as it was before.
    """
    with whole_folder(folder) as part:
        with ThreadPoolExecutor(max_workers=1) as helper:
            scenes = helper.submit(render_scenes, modes, plate, part)
            flat = (
                *draw_graduation(plate, part / "graduation.png"),
                *draw_modes(modes, plate, part / "modes.png"),
            )
        solid = scenes.result()
    paths = tuple(folder / path.name for path in (*flat, *solid.paths))
    return PictureReport(paths, solid.problem)
