"""The demonstration plates, of which the bench works on copies."""

import shutil
from pathlib import Path

from solver.core.atomic_write import whole_folder
from solver.core.errors import InputError
from solver.plate_folder.description import PLATE_FILE

_PLACES = (Path(__file__).parents[1] / "demonstration", Path(__file__).parents[2] / "cases")
"""Where the demonstration plates may lie: installed inside the program, or beside its source."""

_NOT_COPIED = ("pictures", "trials")


def demonstration_folders() -> list[Path]:
    """Return the demonstration plates."""
    return sorted(path.parent for place in _PLACES for path in place.glob(f"*/{PLATE_FILE}"))


def copied_into(place: Path, folder: Path) -> Path:
    """Return a copy of a demonstration plate, to be tried out without changing the one that all begin from.

    Raises
    ------
    InputError
        If something of that name is there already, or nothing can be written there.
    """
    copy = place / folder.name
    if copy.exists():
        raise InputError(
            f"{copy}: something is there already; expected a free name for the copy. Move it, or start the bench elsewhere."
        )
    with whole_folder(copy, PLATE_FILE) as part:
        shutil.copytree(folder, part, ignore=shutil.ignore_patterns(*_NOT_COPIED), dirs_exist_ok=True)
    return copy
