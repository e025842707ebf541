"""What a maker enters with ``platewright log``, and the entry that it makes: a new one, or the correction of an old one."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from pathlib import Path

from solver.commands.modes import parts_left_out
from solver.commands.typed_figures import typed_date, typed_modes, typed_number, typed_words
from solver.core.errors import InputError
from solver.plate_folder.log_order import LOG_FOLDER, SUFFIX, standing
from solver.plate_folder.schema import LogEntry

LAST = "last"
EVERYTHING = "all"

_TAKEN_OUT = {
    "mass": "mass_g",
    "temperature": "temperature_c",
    "humidity": "humidity_pct",
    "stage": "stage",
    "note": "note",
    "photo": "photo",
    "recording": "recording",
    "thickness": "thickness",
    "without": "without",
    "mode": "modes_hz",
    "tone": "tones_hz",
}


@dataclass(frozen=True)
class TypedEntry:
    """The options of an entry as they were typed; what is left out is None or empty."""

    taken: str | None = None
    mass: str | None = None
    modes: tuple[str, ...] = ()
    tones: tuple[str, ...] = ()
    temperature: str | None = None
    humidity: str | None = None
    stage: str | None = None
    note: str | None = None
    photo: Path | None = None
    recording: Path | None = None
    without: str | None = None
    thickness: Path | None = None
    corrects: str | None = None
    take_out: tuple[str, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Tell whether no option of an entry was given."""
        return all(getattr(self, field.name) in (None, ()) for field in fields(self))


@dataclass(frozen=True)
class LogRequest:
    """What the maker asked for; ``as_typed``: enter what looks like a slip without asking."""

    folder: Path
    typed: TypedEntry
    as_typed: bool
    show: bool
    picture: Path | None
    as_json: bool


def entry_typed(typed: TypedEntry, entries: Mapping[str, LogEntry], now: datetime) -> LogEntry:
    """Return the entry that was typed, its files not yet in it; ``entries`` is the log, corrected ones too.

    A correction is the old entry with what was typed in place of what was there: modes one by one, tones all together.

    Raises
    ------
    InputError
        If an option cannot be used, or there is nothing in the entry, or nothing to correct.
    """
    given = _figures(typed)
    if typed.corrects is None:
        if typed.take_out:
            raise InputError(
                "--take-out: there is nothing in a new entry to take out; expected it with a correction. "
                "Name the entry with --corrects, or leave it out."
            )
        return LogEntry.model_validate({"taken": now.replace(microsecond=0)} | given)
    old = _entry_named(typed.corrects, entries)
    kept = entries[f"{old}{SUFFIX}"].model_dump()
    for name in typed.take_out:
        _take_out(kept, name)
    given["modes_hz"] = kept.get("modes_hz", {}) | typed_modes("--mode", typed.modes)
    return LogEntry.model_validate(kept | given | {"corrects": old})


def _figures(typed: TypedEntry) -> dict[str, object]:
    """Return by their keys in the file what was typed; raises InputError if it cannot be used."""
    given: dict[str, object] = {}
    if typed.taken is not None:
        given["taken"] = typed_date("--taken", typed.taken)
    if typed.modes:
        given["modes_hz"] = typed_modes("--mode", typed.modes)
    if typed.tones:
        given["tones_hz"] = tuple(sorted(typed_number("--tone", text) for text in typed.tones))
    for key, option, text in (
        ("temperature_c", "--temperature", typed.temperature),
        ("humidity_pct", "--humidity", typed.humidity),
        ("mass_g", "--mass", typed.mass),
    ):
        if text is not None:
            given[key] = typed_number(option, text)
    if typed.without is not None:
        given["without"] = parts_left_out(typed.without)
    for option, text in (("--stage", typed.stage), ("--note", typed.note)):
        if text is not None:
            given[option.removeprefix("--")] = typed_words(option, text)
    return given


def _entry_named(name: str, entries: Mapping[str, LogEntry]) -> str:
    """Return the stamp of the entry to correct; raises InputError if there is none, or it was corrected already."""
    stands = standing(entries)
    if name == LAST and stands:
        return [*stands][-1].removesuffix(SUFFIX)
    stamp = name.removeprefix(f"{LOG_FOLDER}/").removesuffix(SUFFIX)
    if f"{stamp}{SUFFIX}" not in entries:
        known = f"Name one, as in --corrects {[*stands][-1].removesuffix(SUFFIX)}, or last." if stands else ""
        raise InputError(
            f"--corrects: there is no entry '{name}' in the log; expected the name of one. "
            f"{known or 'The log is empty: leave it out.'}"
        )
    if f"{stamp}{SUFFIX}" not in stands:
        newer = next(n for n, e in entries.items() if e.corrects == stamp).removesuffix(SUFFIX)
        raise InputError(
            f"--corrects: '{stamp}' was corrected already by {newer}; expected an entry that stands. "
            f"Look with --show, and correct that in its place."
        )
    return stamp


def _take_out(kept: dict[str, object], name: str) -> None:
    """Take a figure out of an entry; raises InputError if it is not in it."""
    if name == EVERYTHING:
        for key in [*kept]:
            if key != "taken":
                del kept[key]
        return
    modes = kept.get("modes_hz")
    if name.removeprefix("mode=") != name and isinstance(modes, dict) and name[5:] in modes:
        kept["modes_hz"] = {mode: hz for mode, hz in modes.items() if mode != name[5:]}
    elif name in _TAKEN_OUT and kept.get(_TAKEN_OUT[name]):
        del kept[_TAKEN_OUT[name]]
    else:
        raise InputError(
            f"--take-out: '{name}' is not in the entry; expected one of {', '.join(_TAKEN_OUT)}, mode=5 for a single "
            "mode, or all. Look with --show."
        )
