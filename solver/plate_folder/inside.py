"""What lies inside a plate's folder: a name that leads out of it is followed nowhere."""

from contextlib import suppress
from pathlib import Path, PurePosixPath, PureWindowsPath

from solver.core.errors import InputError

RECORD, ACT_FILE, AFTER = ".platewright.unfinished", "act.toml", "after"
"""The folder in which it is recorded what is being written together (`act.py`), the record itself, and the new files."""


def file_in(folder: Path, name: str, where: str) -> Path:
    """Return the path of a file that plate.toml names; ``where`` is the key that names it.

    Raises
    ------
    InputError
        If the name leads out of the folder: what is inside can be copied and sent as one thing.
    """
    parts = PurePosixPath(name).parts
    windows = PureWindowsPath(name)
    if "\\" in name and not windows.drive and ".." not in windows.parts:
        raise InputError(
            f'{where} is "{name}"; expected / between folder and file. Write {windows.as_posix()}.'
        )
    path = folder / name
    leads_out = not parts or windows.drive or windows.root or ".." in windows.parts
    if leads_out or "\0" in name or not is_inside(folder, path):
        raise InputError(
            f'{where} is "{name}"; expected a file inside the plate\'s folder. '
            "Copy it into the folder and name it from there."
        )
    return place_of(folder, name)


def place_of(folder: Path, name: str) -> Path:
    """Return where a file stands: among what a program was about to write when it was ended, or in its place."""
    after = folder / RECORD / AFTER / name
    is_begun = (folder / RECORD / ACT_FILE).exists() and after.exists()
    return after if is_begun else folder / name


def places_in(folder: Path, name: str) -> list[Path]:
    """Return where the files of one of a plate's folders stand, by their names; raises OSError if it cannot be opened."""
    names: set[str] = set()
    for place in (folder / name, place_of(folder, name)):
        with suppress(FileNotFoundError):
            names |= {path.name for path in place.iterdir()}
    return [place_of(folder, f"{name}/{file}") for file in sorted(names)]


def is_inside(folder: Path, path: Path) -> bool:
    """Tell whether a path leads to a place inside a folder; a link to itself leads nowhere."""
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):  # which of them a link to itself raises changed with Python's versions
        return False
