"""What a plate folder says in its TOML files, before any geometry is made of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from solver.core.errors import InputError
from solver.plate_folder.act import settle
from solver.plate_folder.inside import RECORD, file_in, place_of, places_in
from solver.plate_folder.log_order import LOG_FOLDER, SUFFIX, in_order, standing
from solver.plate_folder.schema import LogEntry, PlateTable
from solver.plate_folder.toml_file import read_toml

PLATE_FILE = "plate.toml"
_LOOKS = 5
"""As often is a folder read in which others write without end."""

READINGS = ("x_mm", "y_mm", "t_mm")
"""The columns of caliper readings."""


@dataclass(frozen=True, eq=False)
class Description:
    """The checked content of plate.toml, and the log by the names of its files, oldest first.

    An entry that another one corrects is not in the log: its correction stands in its place.
    """

    folder: Path
    table: PlateTable
    log: Mapping[str, LogEntry]


def read_description(folder: Path) -> Description:
    """Return what the folder's TOML files say.

    Raises
    ------
    InputError
        If there is no such folder, or if plate.toml or an entry of the log cannot be used.
    """
    check_folder(folder)
    for _ in range(_LOOKS):
        settle(folder)
        before = _state(folder)
        table = read_toml(place_of(folder, PLATE_FILE), PlateTable, PLATE_FILE)
        description = Description(folder, table, standing(read_entries(folder)))
        if _state(folder) == before:
            break
    return description


def _state(folder: Path) -> tuple[bool, int, int]:
    """Return what tells whether another program wrote meanwhile, so that plate and log would not be of one moment."""
    try:
        entry = (folder / PLATE_FILE).stat()
    except OSError:
        return False, 0, 0
    return (folder / RECORD).exists(), entry.st_ino, entry.st_mtime_ns


def read_entries(folder: Path) -> dict[str, LogEntry]:
    """Return every entry of the log by the name of its file, corrected ones too, oldest first.

    Raises InputError if an entry cannot be understood, or names a photo or recording outside the folder.
    """
    entries = {path.name: read_toml(path, LogEntry, f"log/{path.name}") for path in _log_files(folder)}
    for name, entry in entries.items():
        for key in ("photo", "recording"):
            if (file := getattr(entry, key)) is not None:
                file_in(folder, file, f"log/{name}: {key}")
    return in_order(entries)


def check_folder(folder: Path) -> None:
    """Raise InputError if a folder is not that of a plate."""
    try:
        if not folder.exists():
            raise InputError(
                f"{folder}: there is no such folder; expected the folder of a plate. "
                "Check the name, or make one with: platewright new"
            )
        if not folder.is_dir():
            raise InputError(
                f"{folder}: it is a file; expected the folder in which plate.toml lies. Name that."
            )
        if not (folder / PLATE_FILE).exists():
            raise InputError(
                f"{folder}: there is no plate.toml in it; expected the folder of a plate. "
                "Check the name, or make one with: platewright new"
            )
    except OSError as error:
        raise _unreadable(folder, error) from error


def _log_files(folder: Path) -> list[Path]:
    """Return the entries of the log by name; none where no log has been begun. A point before a name is a program's."""
    try:
        files = places_in(folder, LOG_FOLDER)
    except OSError as error:
        raise _unreadable(folder / LOG_FOLDER, error) from error
    return [path for path in files if path.suffix == SUFFIX and path.name[0] != "."]


def _unreadable(folder: Path, error: OSError) -> InputError:
    return InputError(
        f"{folder}: it cannot be opened ({error.strerror}); expected a folder which may be read. "
        "Check its name and the rights to it."
    )
