"""The log's questions at a terminal: each may be passed over, and a slip is asked again."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from rich.console import Console
from rich.text import Text

from solver.commands.log_request import TypedEntry
from solver.commands.modes import parts_left_out
from solver.commands.typed_figures import typed_mode, typed_number, typed_words
from solver.core.errors import InputError
from solver.plate_folder.schema import LogEntry, PlateTable

Ask = Callable[[str], str]
"""Puts a question to the person at the terminal and returns the answer."""

YES = ("y", "yes")

USUAL_MODES = ("1", "2", "5")
"""The modes that makers tap for (common practice, no source)."""


def ask_for_entry(table: PlateTable, log: Mapping[str, LogEntry], ask: Ask, out: Console) -> TypedEntry:
    """Return what a person answers; the last figures are shown beside the questions."""
    out.print("Enter passes a question over; Ctrl-C leaves without an entry.")
    last = last_figures([*log.values()])

    def number(option: str, question: str, key: str) -> str | None:
        return _asked(f"{question}{_was(last.get(key))}: ", lambda text: typed_number(option, text), ask, out)

    def words(option: str, question: str, key: str) -> str | None:
        return _asked(f"{question}{_was(last.get(key))}: ", lambda text: typed_words(option, text), ask, out)

    def mode(name: str) -> str | None:
        question = f"Mode {name}, Hz{_was(last.get(f'mode {name}'))}: "
        hz = _asked(question, lambda text: typed_mode("mode", f"{name}={text}"), ask, out)
        return None if hz is None else f"{name}={hz}"

    mass = number("--mass", "Mass, g", "mass_g")
    modes = [mode(name) for name in modes_to_ask(table, log)]
    tones = _asked("Tones of no known mode, Hz, with blanks between: ", _check_tones, ask, out)
    return TypedEntry(
        mass=mass,
        modes=tuple(text for text in modes if text is not None),
        tones=tuple(tones.split()) if tones else (),
        temperature=number("--temperature", "Temperature, °C", "temperature_c"),
        humidity=number("--humidity", "Humidity, %", "humidity_pct"),
        stage=words("--stage", "Stage", "stage"),
        note=words("--note", "Note", "note"),
        without=_parts_asked_for(table, ask, out),
        thickness=_readings_asked_for(table, ask, out),
    )


def _parts_asked_for(table: PlateTable, ask: Ask, out: Console) -> str | None:
    """Ask which parts of plate.toml the plate lacks; nothing where it has none."""
    parts = [*(["holes"] if table.outline.holes else []), *(["bar"] if table.bar else [])]
    if not parts:
        return None
    return _asked(f"Parts it does not have yet ({' or '.join(parts)}): ", parts_left_out, ask, out)


def _readings_asked_for(table: PlateTable, ask: Ask, out: Console) -> Path | None:
    """Ask for the readings of the day; nothing where plate.toml has none either."""
    if table.thickness.file is None:
        return None
    text = _asked("Readings of its thickness, a file, if plate.toml has others: ", _check_file, ask, out)
    return None if text is None else Path(text)


def _check_file(text: str) -> None:
    if not Path(text).is_file():
        raise InputError(f"{text}: there is no such file; expected readings of thickness. Check its name.")


def last_figures(log: Sequence[LogEntry]) -> dict[str, str]:
    """Return the newest value of what changes little from entry to entry, as words."""
    last: dict[str, str] = {}
    for entry in log:
        if entry.mass_g is not None:
            last["mass_g"] = f"{entry.mass_g:g}"
        if entry.stage is not None:
            last["stage"] = entry.stage
        last |= {f"mode {name}": f"{hz:g}" for name, hz in entry.modes_hz.items()}
    return last


def modes_to_ask(table: PlateTable, log: Mapping[str, LogEntry]) -> list[str]:
    """Return the usual modes, those wanted and those logged before; none of a panel, whose tones have no numbers."""
    asked = {name for entry in log.values() for name in entry.modes_hz}
    asked |= {*table.wanted.modes_hz} if table.wanted else set()
    asked |= {*USUAL_MODES} if table.role != "panel" else set()
    return sorted(asked, key=int)


def _asked(question: str, check: Callable[[str], object], ask: Ask, out: Console) -> str | None:
    """Return the answer once it can be used; None if it is empty."""
    while text := ask(question).strip():
        try:
            check(text)
        except InputError as error:
            out.print(Text(str(error)))
        else:
            return text
    return None


def _check_tones(text: str) -> None:
    for tone in text.split():
        typed_number("--tone", tone)


def _was(last: str | None) -> str:
    return f" (last {last})" if last is not None else ""
