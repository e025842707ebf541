"""Whether a plate's folder is still as it was read."""

import hashlib
from collections.abc import Iterable
from pathlib import Path

from solver.plate_folder.log_order import LOG_FOLDER, SUFFIX

_TRIALS = "trials"
_DESCRIBING = {".toml", ".csv", ".svg", ".dxf"}
_MOST_FILES = 2000


def fingerprint(folder: Path) -> str:
    """Return a mark of all files of a plate that changes when one of them does; trials have versions of their own.

    Size and time to the nanosecond of every file, as version control programs look for changes. A file that goes while
    one looks counts as gone.
    """
    return _mark(folder, _files(folder))


def body_fingerprint(folder: Path) -> str:
    """Return a mark as `fingerprint` that an entry of the log leaves as it is: what is computed of the plate stays true."""
    return _mark(folder, (path for path in _files(folder) if not _is_entry(folder, path)))


def _is_entry(folder: Path, path: Path) -> bool:
    return path.parent == folder / LOG_FOLDER and path.suffix == SUFFIX


def _mark(folder: Path, paths: Iterable[Path]) -> str:
    mark = hashlib.sha256()
    for path in sorted(paths)[:_MOST_FILES]:
        try:
            entry = path.stat()
        except OSError:
            continue
        mark.update(
            f"{path.relative_to(folder)}\0{entry.st_size}\0{entry.st_mtime_ns}\0{entry.st_ino}\n".encode()
        )
    return mark.hexdigest()[:16]


def _files(folder: Path) -> list[Path]:
    """Return what describes the plate, in the folder and one level down."""
    try:
        inside = [path for path in folder.iterdir() if not path.name.startswith(".") and path.name != _TRIALS]
        deeper = [inner for path in inside if path.is_dir() for inner in path.iterdir()]
    except OSError:
        return []
    return [path for path in (*inside, *deeper) if path.suffix.lower() in _DESCRIBING]
