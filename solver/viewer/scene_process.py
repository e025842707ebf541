"""The 3-D pictures and the window of shapes, made by a process of their own.

VTK ends its process with a crash where the machine has no GL library. Here that costs the 3-D pictures and
one sentence, and nothing else.
"""

import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import solver
from solver.core.atomic_write import whole_folder
from solver.modal.modes import Modes
from solver.plate.plate import Plate
from solver.viewer.scene import NO_SCREEN
from solver.viewer.scene_data import save_scene, scene_data

COMMAND: tuple[str, ...] = (sys.executable, "-m", "solver.viewer.scene")
"""What draws; the pictures or the window, the file of data and the folder for the pictures follow."""

_START_SECONDS, _PICTURE_SECONDS = 120.0, 15.0
"""Patience with a slow machine that draws without a graphics card."""
_LARGEST_EXIT_CODE = 255
"""A process that ends by itself returns 0 to 255; a crash shows as less (POSIX) or as more (Windows)."""
_SCREEN_CURE = (
    "there is no screen for 3-D drawing here; run it in a desktop session (Debian and Ubuntu need libgl1 there), "
    "or draw the shapes with --pictures"
)
_GL_CURE = (
    "the graphics library GL is missing or does not work here; expected libEGL or libGL; "
    "on Debian or Ubuntu run: apt-get install libegl1 libgl1"
)


@dataclass(frozen=True)
class SceneReport:
    """The 3-D pictures that were made; or why none was, in one sentence."""

    paths: tuple[Path, ...]
    problem: str | None


def render_scenes(modes: Modes, plate: Plate, folder: Path) -> SceneReport:
    """Draw the arch and every shape in 3-D: ``arch.png``, ``shape-01.png`` and so on, all or none.

    Raises
    ------
    InputError
        If nothing can be written in the folder.
    """
    with whole_folder(folder) as part:
        data = part / "scene.npz"
        save_scene(scene_data(modes, plate), data)
        failure = _run(["pictures", str(data), str(part)], _START_SECONDS + _PICTURE_SECONDS * len(modes.hz))
        for file in part.iterdir():
            if failure is not None or file == data:
                file.unlink()
        names = sorted(file.name for file in part.iterdir())
    problem = None if failure is None else f"the 3-D pictures are missing: {failure}"
    return SceneReport(tuple(folder / name for name in names), problem)


def show_modes(modes: Modes, plate: Plate) -> str | None:
    """Open a window in which the shapes swing, wait until it is closed; return why it did not open, if so."""
    with tempfile.TemporaryDirectory() as scratch:
        data = Path(scratch) / "scene.npz"
        save_scene(scene_data(modes, plate), data)
        failure = _run(["window", str(data)], None)
    return None if failure is None else f"the window of shapes did not open: {failure}"


def _run(task: list[str], patience: float | None) -> str | None:
    """Run the drawing process for at most ``patience`` seconds; return what went wrong, if anything."""
    root = Path(solver.__file__).parents[1]
    try:
        done = subprocess.run([*COMMAND, *task], cwd=root, capture_output=True, timeout=patience, check=False)
    except subprocess.TimeoutExpired:
        return (
            f"drawing took over {patience:.0f} s and was stopped; free the machine of other work, then repeat"
        )
    if done.returncode == 0:
        return None
    if done.returncode == NO_SCREEN:
        return _SCREEN_CURE
    if done.returncode < 0 or done.returncode > _LARGEST_EXIT_CODE:
        return _GL_CURE
    words = done.stderr.decode(errors="replace").strip().splitlines()
    return words[-1] if words else f"the drawing process ended with code {done.returncode}"
