"""The answer of ``platewright log``, as a table to read and as an object for other programs."""

from typing import TYPE_CHECKING

from rich.console import Group
from rich.table import Table
from rich.text import Text

from solver.commands.log_history import Happening, History, Reading
from solver.plate_folder.log_order import SUFFIX
from solver.plate_folder.schema import LogEntry

if TYPE_CHECKING:
    from solver.commands.tones import Json


def history_as_json(history: History) -> "dict[str, Json]":
    """Return the object that ``log --show --json`` prints."""
    room = history.reference
    return {
        "title": history.table.title,
        "role": history.table.role,
        "reference": None
        if room is None
        else {"temperature_c": room.temperature_c, "humidity_pct": room.humidity_pct},
        "entries": [_happening(happening) for happening in history.happenings],
        "remarks": [*history.remarks],
    }


def _happening(happening: Happening) -> "dict[str, Json]":
    entry = happening.entry
    return {
        "entry": happening.name,
        "taken": entry.taken.isoformat(),
        "stage": entry.stage,
        "temperature_c": entry.temperature_c,
        "humidity_pct": entry.humidity_pct,
        "mass_g": entry.mass_g,
        "mass_change_g": _rounded(happening.mass_change_g),
        "modes": [{"mode": name, **_reading(reading)} for name, reading in happening.modes.items()],
        "tones": [_reading(reading) for reading in happening.tones],
        "note": entry.note,
        "photo": entry.photo,
        "recording": entry.recording,
        "corrects": entry.corrects,
    }


def _reading(reading: Reading) -> "dict[str, Json]":
    band, cents = reading.at_reference or (None, None), reading.cents or (None, None)
    return {
        "hz": reading.hz,
        "change_hz": _rounded(reading.change_hz),
        "low_hz": _rounded(band[0]),
        "high_hz": _rounded(band[1]),
        "wanted_hz": reading.wanted_hz,
        "low_cents": _rounded(cents[0]),
        "high_cents": _rounded(cents[1]),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def history_as_table(history: History) -> Group:
    """Return the log as a table, an entry in each row, and what is to be said of it."""
    if not history.happenings:
        return Group(
            Text("The log is empty. Enter what you measure: platewright log FOLDER --mass 71.4 --mode 5=342")
        )
    table = Table(title="The log", title_justify="left", pad_edge=False)
    table.add_column("Taken", overflow="fold")
    for head in _heads(history):
        table.add_column(head, justify="right", no_wrap=True)
    for happening in history.happenings:
        table.add_row(*(Text(cell) for cell in _cells(history, happening)))
        table.add_section()
    return Group(table, *(Text(remark) for remark in history.remarks))


def _heads(history: History) -> tuple[str, ...]:
    room = history.reference
    there = (f"At {room.temperature_c:g} C\n{room.humidity_pct:g} %",) if room else ()
    return (
        "Mass g",
        "Mode",
        "Hz",
        "Since\nlast",
        *there,
        *(("Cents off\nwanted",) if _has_wanted(history) else ()),
    )


def _has_wanted(history: History) -> bool:
    return any(reading.wanted_hz for h in history.happenings for reading in h.modes.values())


def _cells(history: History, happening: Happening) -> tuple[str, ...]:
    """Return the cells of an entry, one line for each of its tones."""
    entry = happening.entry
    named = [*happening.modes.items(), *(("-", reading) for reading in happening.tones)]
    readings = [reading for _, reading in named]
    cells = [
        _told(happening.name, entry),
        "\n".join(text for text in (_figure(entry.mass_g), _change(happening.mass_change_g)) if text),
        "\n".join(name for name, _ in named),
        "\n".join(_figure(reading.hz) for reading in readings),
        "\n".join(_change(reading.change_hz) for reading in readings),
    ]
    if history.reference:
        cells.append("\n".join(_band(reading.at_reference, ".1f") for reading in readings))
    if _has_wanted(history):
        cells.append("\n".join(_band(reading.cents, "+.0f") for reading in readings))
    return tuple(cells)


def _told(name: str, entry: LogEntry) -> str:
    """Return when, in which room and at which stage it was, and what was noted."""
    room = ((entry.temperature_c, "C"), (entry.humidity_pct, "%"))
    lines = (
        f"{entry.taken:%Y-%m-%d %H:%M}",
        ", ".join(f"{value:g} {unit}" for value, unit in room if value is not None),
        entry.stage,
        entry.note,
        entry.photo,
        entry.recording,
        "a correction" if entry.corrects else None,
        name.removesuffix(SUFFIX),
    )
    return "\n".join(line for line in lines if line)


def _figure(value: float | None) -> str:
    return "" if value is None else f"{value:.1f}"


def _change(value: float | None) -> str:
    return "" if value is None else f"{value:+.1f}"


def _band(band: tuple[float, float] | None, form: str) -> str:
    """Write a band, or one figure where both ends are the same."""
    if band is None:
        return ""
    ends = [f"{value:{form}}" for value in band]
    return ends[0] if ends[0] == ends[1] else f"{ends[0]}..{ends[1]}"
