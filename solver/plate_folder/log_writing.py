"""Adding to the log: every entry is a file of its own, there whole or not at all, and never written again."""

from collections.abc import Iterator
from itertools import count, takewhile
from pathlib import Path

import tomlkit

from meshes.input_file import file_bytes
from solver.core.errors import InputError
from solver.plate_folder.act import changing
from solver.plate_folder.added_file import add_file, folder_in
from solver.plate_folder.description import check_folder
from solver.plate_folder.log_order import LOG_FOLDER, SUFFIX, stamp_of
from solver.plate_folder.schema import LogEntry
from solver.plate_folder.toml_file import parse_toml


def add_entry(folder: Path, entry: LogEntry) -> str:
    """Add an entry to the log of a plate and return its stamp; by then it lies on the disk as ``log/<stamp>.toml``.

    Any number of programs may add at once: a stamp that is taken is counted on. The same entry, of the same second and to
    the last word, is there once however often it is added, as after a program that was ended before it could say so.

    Raises InputError (`UnwritableError`) if ``folder`` is no plate's, the entry corrects one that is not there, or nothing
    can be written.
    """
    check_folder(folder)
    content = entry_text(entry).encode()
    with changing(folder):
        log = folder_in(folder, LOG_FOLDER)
        if entry.corrects is not None and not (log / f"{entry.corrects}{SUFFIX}").exists():
            raise InputError(
                f'{LOG_FOLDER}: there is no entry "{entry.corrects}" to correct; '
                "expected the name of one of its files. Look it up there."
            )
        name = _present(log, entry, content) or add_file(
            log, _names(entry), lambda part: part.write_bytes(content)
        )
        return name.removesuffix(SUFFIX)


def _present(log: Path, entry: LogEntry, content: bytes) -> str | None:
    """Return the file in which the very same entry lies already."""
    taken = takewhile(lambda name: (log / name).exists(), _names(entry))
    return next((name for name in taken if file_bytes(log / name) == content), None)


def free_name(folder: Path, entry: LogEntry) -> str:
    """Return the name that the file of a new entry gets in a plate's folder, if no other is added before."""
    return next(name for file in _names(entry) if not (folder / (name := f"{LOG_FOLDER}/{file}")).exists())


def _names(entry: LogEntry) -> Iterator[str]:
    return (f"{stamp_of(entry.taken, n)}{SUFFIX}" for n in count(1))


def entry_text(entry: LogEntry) -> str:
    """Return an entry as it stands in its file: one line for each key that is given.

    Raises InputError if it holds what cannot be written.
    """
    document = tomlkit.document()
    for key, value in entry.model_dump(exclude_defaults=True).items():
        if isinstance(value, dict):
            table = tomlkit.inline_table()
            table.update(value)
            document.add(key, table)
        else:
            document.add(key, tomlkit.item(value))
    text = tomlkit.dumps(document)
    try:
        text.encode()
    except UnicodeEncodeError as error:
        raise InputError(
            f"The entry holds a letter that is none ({error.object[error.start]!a}); "
            "expected text. Type it again."
        ) from None
    assert parse_toml(text, LogEntry, "entry") == entry, "what is written is what will be read"
    return text
