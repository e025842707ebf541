"""Changing what a plate's folder says: tried on a copy first, and written all together or not at all."""

import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from solver.atomic_write import whole_folder
from solver.errors import InputError
from solver.plate_folder.description import PLATE_FILE, read_description
from solver.plate_folder.inside import file_in
from solver.plate_folder.read import PlateFolder, read_folder
from solver.plate_folder.schema import PlateTable


def try_change(folder: Path, files: Mapping[str, str]) -> PlateFolder:
    """Return the plate as it would be with other texts in some of its files, by their names in the folder.

    Raises
    ------
    InputError
        If that would be no plate; the sentence is the one of the commands.
    """
    with _copied(folder) as copy:
        _write(copy, files)
        return read_folder(read_description(copy))


def write_change(folder: Path, files: Mapping[str, str]) -> PlateFolder:
    """Write other texts into some of a plate's files, all of them or none, if a plate comes of it.

    Raises
    ------
    InputError
        If no plate would come of it, or nothing can be written there.
    """
    changed = try_change(folder, files)
    with whole_folder(folder) as part:
        _write(part, files)
    return changed


def _write(folder: Path, files: Mapping[str, str]) -> None:
    for name, text in files.items():
        path = file_in(folder, name, "file")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")


@contextmanager
def _copied(folder: Path) -> Iterator[Path]:
    """Lend a copy of what describes a plate: plate.toml, the files that it names, and its log."""
    with tempfile.TemporaryDirectory(prefix="platewright-") as place:
        copy = Path(place) / folder.name
        copy.mkdir()
        for path in _describing(folder):
            target = copy / path.relative_to(folder)
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, target)
        yield copy


def _describing(folder: Path) -> list[Path]:
    names = [PLATE_FILE, *(f"log/{path.name}" for path in (folder / "log").glob("*.toml"))]
    try:
        names += _named(read_description(folder).table)
    except InputError:
        # plate.toml cannot be read as it stands: whatever lies beside it may be what it will name
        names += [str(path.relative_to(folder)) for path in folder.rglob("*.csv")]
    return [path for name in dict.fromkeys(names) if (path := file_in(folder, name, "file")).is_file()]


def _named(table: PlateTable) -> list[str]:
    """Return the files that a description names."""
    named = (
        table.outline.file,
        *table.outline.holes,
        table.arch.file,
        table.arch.sections,
        table.thickness.file,
    )
    return [name for name in named if name is not None]
