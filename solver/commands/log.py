"""``platewright log``: what was measured goes into the log, and the log comes back as a table, a chart, an object."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from solver.commands.headline import headline
from solver.commands.json_answer import print_json
from solver.commands.log_answer import history_as_json, history_as_table
from solver.commands.log_dialogue import YES, Ask, ask_for_entry
from solver.commands.log_history import History
from solver.commands.log_request import LogRequest, TypedEntry, entry_typed
from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate_folder.description import READINGS, Description, read_description, read_entries
from solver.plate_folder.log_doubts import doubts_of
from solver.plate_folder.log_order import LOG_FOLDER, SUFFIX
from solver.plate_folder.schema import LogEntry
from solver.plate_folder.stage_doubts import stage_doubts
from solver.viewer.page_files import picture_kind

if TYPE_CHECKING:
    from solver.commands.tones import Json


@dataclass(frozen=True)
class Added:
    """The stamp of an entry that was added, and what looked like a slip in it."""

    stamp: str
    doubts: tuple[str, ...]


def run_log(request: LogRequest, out: Console, busy: Console, ask: Ask | None) -> None:
    """Enter what was typed and print what was asked for; ``ask`` is None where nobody sits at a terminal.

    Raises
    ------
    InputError
        If the folder or an option cannot be used, or something looks like a slip and nobody can be asked; then nothing
        was entered.
    """
    description = read_description(request.folder)
    if request.picture is not None:
        picture_kind(request.picture)
    if not request.as_json:
        out.print(headline(description.table))
    shows = request.show or request.picture is not None or (request.as_json and request.typed.is_empty)
    typed = request.typed if not request.typed.is_empty or shows else _asked_for(description, ask, out)
    added = None if typed.is_empty else _add(request, description, typed, out, ask)
    if added and not request.as_json:
        out.print(Text(f"Entered as {LOG_FOLDER}/{added.stamp}{SUFFIX}."))
    history = _history(request, busy) if shows else None
    if request.as_json:
        print_json(_as_json(description, added, history), out)
    elif request.show and history:
        out.print(history_as_table(history))
    if request.picture and history:
        _draw(request, history, out, busy)


def _asked_for(description: Description, ask: Ask | None, out: Console) -> TypedEntry:
    if ask is None:
        raise InputError(
            "log: there is nothing to enter, and no terminal at which to ask; expected --mass, --mode or another "
            "option. Write for instance --mass 71.4 --mode 5=342, or --show."
        )
    typed = ask_for_entry(description.table, description.log, ask, out)
    if typed.is_empty:
        out.print("Nothing was entered.")
    return typed


def _add(
    request: LogRequest, description: Description, typed: TypedEntry, out: Console, ask: Ask | None
) -> Added | None:
    """Add the entry; None if the person at the terminal thought better of it."""
    from solver.plate_folder.log_writing import add_entry

    entry, doubts = entry_with_doubts(description, typed)
    if doubts and not request.as_typed and not _is_sure(doubts, out, None if request.as_json else ask):
        out.print("Nothing was entered.")
        return None
    return Added(add_entry(request.folder, with_files(request.folder, typed, entry)), doubts)


def entry_with_doubts(description: Description, typed: TypedEntry) -> tuple[LogEntry, tuple[str, ...]]:
    """Return the entry that was typed, without its files, and a sentence on all that looks like a slip in it.

    Raises
    ------
    InputError
        If something typed cannot be used, or there is nothing to correct.
    """
    now = datetime.now().astimezone()
    entry = entry_typed(typed, read_entries(description.folder), now)
    slips = doubts_of(entry, _before(entry, description), description.table.role, now)
    return entry, (*slips, *stage_doubts(entry, description.table))


def _before(entry: LogEntry, description: Description) -> list[LogEntry]:
    """Return the entries that stood before one was taken, without the one that it corrects."""
    return [
        other
        for name, other in description.log.items()
        if name != f"{entry.corrects}{SUFFIX}" and other.taken.astimezone() <= entry.taken.astimezone()
    ]


def _is_sure(doubts: Sequence[str], out: Console, ask: Ask | None) -> bool:
    if ask is None:
        raise InputError(
            f"{' '.join(doubts)} Nothing was entered; if it is right all the same, add --as-typed."
        )
    for doubt in doubts:
        out.print(Text(doubt))
    return ask("Enter it as typed? [y/N] ").strip().lower() in YES


def with_files(folder: Path, typed: TypedEntry, entry: LogEntry) -> LogEntry:
    """Return the entry with its files, which are copied into the plate's folder unless they lie there.

    Raises
    ------
    InputError
        If one of them cannot be read or copied, or the readings of thickness can be none.
    """
    from solver.plate_folder.kept_file import kept_file

    files = {}
    if typed.thickness is not None:
        _check_readings(typed.thickness)
        files["thickness"] = kept_file(folder, typed.thickness, "thickness", "--thickness")
    if typed.photo is not None:
        files["photo"] = kept_file(folder, typed.photo, "photos", "--photo")
    if typed.recording is not None:
        files["recording"] = kept_file(folder, typed.recording, "recordings", "--recording")
    return entry.model_copy(update=files)


def _check_readings(path: Path) -> None:
    """Refuse a file that holds no caliper readings in mm, before anything is copied."""
    from meshes.graduation_checks import check_possible, check_unit
    from meshes.readings_csv import read_table

    try:
        readings = read_table(path, READINGS) * MM
        check_unit(readings)
        check_possible(readings)
    except InputError as fault:
        raise InputError(f"--thickness: {fault}") from fault


def _history(request: LogRequest, busy: Console) -> History:
    from solver.commands.log_history import brought_history

    with busy.status("Bringing the tones to one room"):
        return brought_history(read_description(request.folder))


def _as_json(description: Description, added: Added | None, history: History | None) -> "dict[str, Json]":
    """Return the object that ``--json`` prints: what was added, and the history where it was asked for."""
    return {
        "title": description.table.title,
        "role": description.table.role,
        "added": added.stamp if added else None,
        "warnings": [*added.doubts] if added else [],
        **(history_as_json(history) if history else {}),
    }


def _draw(request: LogRequest, history: History, out: Console, busy: Console) -> None:
    assert request.picture is not None, "drawn only where a picture was asked for"
    with busy.status("Drawing"):
        from solver.commands.log_drawn import chart_of
        from solver.viewer.log_chart import draw_log

        paths = draw_log(chart_of(history), request.picture)
    if not request.as_json:
        out.print(Text("Written: " + ", ".join(map(str, paths))))
