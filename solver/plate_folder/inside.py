"""What lies inside a plate's folder: a name that leads out of it is followed nowhere."""

from pathlib import Path, PurePosixPath, PureWindowsPath

from solver.errors import InputError


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
    return path


def is_inside(folder: Path, path: Path) -> bool:
    """Tell whether a path leads to a place inside a folder; a link to itself leads nowhere."""
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):  # which of them a link to itself raises changed with Python's versions
        return False
