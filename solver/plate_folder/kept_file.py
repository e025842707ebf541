"""Photos, recordings and old readings kept with the plate they are of."""

import filecmp
import shutil
import stat
from collections.abc import Iterator
from itertools import count, takewhile
from pathlib import Path
from typing import Literal

from solver.core.errors import InputError
from solver.plate_folder.added_file import add_file, folder_in
from solver.plate_folder.description import check_folder
from solver.plate_folder.inside import file_in, is_inside
from solver.plate_folder.portable_name import FORBIDDEN, is_reserved

_WANTED = {"photos": "a photo", "recordings": "a recording"}
_KINDS = {
    "a photo": (".jpg", ".jpeg", ".png", ".webp", ".heic", ".tif", ".tiff"),
    "a recording": (".wav", ".flac", ".ogg", ".opus", ".mp3", ".m4a", ".aac"),
    "a table or a text": (".csv", ".toml", ".txt", ".json", ".md", ".xlsx", ".ods"),
    "a drawing": (".svg", ".dxf"),
}

LARGEST_KEPT = 500_000_000
"""Bytes of a photo or recording that is copied into the folder of a plate."""


def kept_file(
    folder: Path, source: Path, home: Literal["photos", "recordings", "thickness"], where: str
) -> str:
    """Return what a log entry calls a photo, recording or readings: a file in the folder as it is, another as its copy.

    The copy gets its own name in ``home``, counted if another file has it; one that is there already is not copied again.
    ``where`` is how a sentence calls the file.

    Raises
    ------
    InputError
        If there is no such file, it is no file or larger than 500 MB, or it cannot be copied.
    """
    check_folder(folder)
    _check_source(source, where)
    _check_kind(source, home, where)
    if is_inside(folder, source):
        name = source.resolve().relative_to(folder.resolve()).as_posix()
        file_in(folder, name, where)
        return name
    place = folder_in(folder, home)
    for name in takewhile(lambda name: (place / name).exists(), _names(source.name)):
        if filecmp.cmp(source, place / name, shallow=False):
            return f"{home}/{name}"
    return f"{home}/{add_file(place, _names(source.name), lambda part: shutil.copyfile(source, part))}"


def _check_source(source: Path, where: str) -> None:
    try:
        entry = source.stat()
        if not stat.S_ISREG(entry.st_mode):
            raise InputError(f"{where}: {source} is no file; expected one. Name the file itself.")
        if entry.st_size > LARGEST_KEPT:
            raise InputError(
                f"{where}: {source} has {entry.st_size / 1e6:.0f} MB; expected at most {LARGEST_KEPT / 1e6:.0f} MB. "
                "Cut it to what shows the plate."
            )
        if not entry.st_size:
            raise InputError(
                f"{where}: {source} is empty; expected what it should show or sound. Save it again."
            )
        source.open("rb").close()
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else error
        raise InputError(
            f"{where}: {source} cannot be read ({reason}); expected a file. Check its name."
        ) from None


def _check_kind(source: Path, home: str, where: str) -> None:
    """Refuse what by its ending is no photo or no recording."""
    wanted = _WANTED.get(home)
    ending = source.suffix.lower()
    found = next((kind for kind, endings in _KINDS.items() if kind != wanted and ending in endings), None)
    if wanted is not None and found is not None:
        raise InputError(
            f"{where}: {source} is {found} by its ending; expected {wanted}. Check which file was meant."
        )


def _names(name: str) -> Iterator[str]:
    """Yield a name that every system allows, then the same counted."""
    plain = FORBIDDEN.sub("-", name).rstrip(". ") or "file"
    plain = f"_{plain}" if is_reserved(plain) else plain
    path = Path(plain)
    yield plain
    yield from (f"{path.stem}-{n}{path.suffix}" for n in count(2))
