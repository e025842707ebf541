"""The order of the entries of a log, and which of them stand: a corrected one gives way to its correction."""

import re
from collections.abc import Mapping
from datetime import datetime

from solver.core.errors import InputError
from solver.plate_folder.schema import LogEntry

LOG_FOLDER = "log"
SUFFIX = ".toml"

_STAMP = "%Y-%m-%dT%H%M%S"
_COUNTED = re.compile(r"\d{4}-\d\d-\d\dT\d{6}-(\d{1,9})")


def stamp_of(taken: datetime, count: int) -> str:
    """Return how the file of an entry is called, by the clock where it was taken, without its ending.

    Entries of the same second are counted, ``2026-03-14T190500-2``. There is no colon in it: Windows allows none.
    """
    return taken.strftime(_STAMP) + (f"-{count}" if count > 1 else "")


def in_order(entries: Mapping[str, LogEntry]) -> dict[str, LogEntry]:
    """Return entries by the names of their files, oldest first, and those of one moment as they were entered.

    A time without a zone is taken in the computer's own.
    """
    return dict(sorted(entries.items(), key=_place))


def standing(entries: Mapping[str, LogEntry]) -> dict[str, LogEntry]:
    """Return of entries in their order those that stand; of several corrections of one entry it is the last.

    Raises
    ------
    InputError
        If an entry corrects one that is not there, or itself by way of others.
    """
    corrected = {_named(entry) for entry in entries.values()} - {None}
    first = {name: _first(entries, name) for name in entries}
    last = {first[name]: name for name in entries if name not in corrected}
    return {name: entries[name] for name in entries if last.get(first[name]) == name}


def _named(entry: LogEntry) -> str | None:
    """Return the file that an entry corrects."""
    return None if entry.corrects is None else f"{entry.corrects}{SUFFIX}"


def _first(entries: Mapping[str, LogEntry], name: str) -> str:
    """Return the entry that was corrected, by however many steps, by the one called ``name``."""
    passed = {name}
    while (older := _named(entries[name])) is not None:
        if older not in entries or older in passed:
            slip = "which corrects this one in turn" if older in passed else "but there is no such entry"
            raise InputError(
                f'{LOG_FOLDER}/{name}: corrects is "{entries[name].corrects}", {slip}; '
                "expected the name of an older entry of this log. Check the name, or take the line out."
            )
        passed.add(older)
        name = older
    return name


def _place(named: tuple[str, LogEntry]) -> tuple[datetime, int, str]:
    name, entry = named
    counted = _COUNTED.fullmatch(name.removesuffix(SUFFIX))
    return entry.taken.astimezone(), int(counted[1]) if counted else 1, name
