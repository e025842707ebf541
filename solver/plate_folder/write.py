"""A new plate folder on the disk."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from solver.core.atomic_write import whole_folder
from solver.core.errors import InputError
from solver.plate_folder.description import PLATE_FILE
from solver.plate_folder.portable_name import check_portable
from solver.plate_folder.schema import PlateTable
from solver.plate_folder.toml_file import parse_toml


def write_new_folder(folder: Path, files: Mapping[str, str]) -> None:
    """Write a new plate folder from the texts of its files, by their names inside it; all of them or none.

    Raises
    ------
    InputError
        If something is there already, it cannot be called so on every computer, plate.toml would not be understood, or
        nothing can be written there.
    """
    check_portable(folder.name)
    parse_toml(files[PLATE_FILE], PlateTable, PLATE_FILE)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError(
            f"{folder}: something is there already; expected a name that is free, or an empty folder. "
            "Choose another name, so that nothing of yours is written over."
        )
    with whole_folder(folder, PLATE_FILE) as part:
        for name, text in files.items():
            path = part / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8", newline="\n")


def table_text(columns: Sequence[str], rows: Iterable[Iterable[float]]) -> str:
    """Return a comma-separated table of numbers with its header, to a hundredth of its unit."""
    lines = [",".join(columns), *(",".join(f"{value:.2f}" for value in row) for row in rows)]
    return "\n".join(lines) + "\n"
