"""Changing what a plate's folder says: tried on a copy first, and written all together or not at all."""

import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from solver.core.errors import InputError
from solver.plate_folder.act import write_together
from solver.plate_folder.description import PLATE_FILE, read_description
from solver.plate_folder.inside import file_in, places_in
from solver.plate_folder.log_order import LOG_FOLDER, SUFFIX
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


def write_change(
    folder: Path, files: Mapping[str, str], check: Callable[[], object] = lambda: None
) -> PlateFolder:
    """Write other texts into some of a plate's files, all of them or none, if a plate comes of it.

    ``check`` is called once no other program writes there, and raises InputError if the folder is not as it was known.

    Raises
    ------
    InputError
        If no plate would come of it, or nothing can be written there.
    """
    changed = try_change(folder, files)
    in_order = sorted(files, key=lambda name: name == PLATE_FILE)  # which names the others
    write_together(folder, {name: files[name].encode() for name in in_order}, check)
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
        for name in _describing(folder):
            if (path := file_in(folder, name, "file")).is_file():
                (copy / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(path, copy / name)
        yield copy


def _describing(folder: Path) -> list[str]:
    """Return the names of the files that describe a plate."""
    try:
        named = _named(read_description(folder).table)
    except InputError:
        # plate.toml cannot be read as it stands: whatever lies beside it may be what it will name
        named = [path.relative_to(folder).as_posix() for path in folder.rglob("*.csv")]
    log = (f"{LOG_FOLDER}/{path.name}" for path in places_in(folder, LOG_FOLDER) if path.suffix == SUFFIX)
    return [*dict.fromkeys((PLATE_FILE, *log, *named))]


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
