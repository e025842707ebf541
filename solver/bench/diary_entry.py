"""An entry of the log as it is typed into the page: what the form asks for, and what was typed in the command's terms."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from solver.bench.plate_routes import MarkedQuestion
from solver.bench.told import LogEntryShown, LogForm
from solver.bench.typed_text import Short, with_point
from solver.commands.log_dialogue import last_figures, modes_to_ask
from solver.commands.log_request import TypedEntry
from solver.core.errors import InputError
from solver.plate_folder.description import Description
from solver.plate_folder.log_order import SUFFIX
from solver.plate_folder.schema import LogEntry


class EntryQuestion(MarkedQuestion):
    """The form as it was filled in; what is empty was not measured.

    ``as_typed`` enters what looks like a slip; ``corrects`` names the entry whose figures the form began with.
    ``photo``, ``recording`` and ``thickness`` are the keys of files that were brought; a correction may leave out those of
    the old entry (``without``). ``parts`` are those that the plate did not have yet.
    """

    taken: Short
    mass: Short
    modes: dict[Annotated[str, Field(max_length=9)], Short]
    tones: Short
    temperature: Short
    humidity: Short
    stage: Short
    note: Annotated[str, Field(max_length=6000)]
    corrects: Short | None
    as_typed: bool
    photo: Short | None = None
    recording: Short | None = None
    thickness: Short | None = None
    parts: Short = ""
    without: list[Literal["photo", "recording", "thickness"]] = Field(default=[], max_length=3)


def form_as_json(description: Description) -> LogForm:
    """Return which modes the form asks for, what was last, and the entries that can be corrected."""
    log = description.log
    stages = dict.fromkeys(entry.stage for entry in log.values() if entry.stage)
    return {
        "modes": [*modes_to_ask(description.table, log)],
        "last": last_figures([*log.values()]),
        "stages": [*stages],
        "entries": [_entry(name.removesuffix(SUFFIX), entry) for name, entry in log.items()],
    }


def _entry(stamp: str, entry: LogEntry) -> LogEntryShown:
    """Return an entry as the form is filled with it."""
    return {
        "entry": stamp,
        "taken": entry.taken.isoformat(),
        "mass": _figure(entry.mass_g),
        "modes": {name: _figure(hz) for name, hz in entry.modes_hz.items()},
        "tones": " ".join(_figure(hz) for hz in entry.tones_hz),
        "temperature": _figure(entry.temperature_c),
        "humidity": _figure(entry.humidity_pct),
        "stage": entry.stage or "",
        "note": entry.note or "",
        "photo": entry.photo,
        "recording": entry.recording,
        "thickness": entry.thickness,
        "parts": ", ".join(entry.without),
    }


def _figure(value: float | None) -> str:
    return "" if value is None else f"{value!r}".removesuffix(".0")


def typed_in(question: EntryQuestion, description: Description, files: Mapping[str, Path]) -> TypedEntry:
    """Return what the form holds as the options of ``platewright log``; ``files`` are its photo and recording, if any.

    In a correction, what was emptied or is to be left out is taken out.

    Raises
    ------
    InputError
        If it is empty, or corrects an entry that does not stand.
    """
    modes = {name: with_point(text) for name, text in question.modes.items() if text.strip()}
    typed = TypedEntry(
        taken=_taken(question, description),
        mass=with_point(question.mass) or None,
        modes=tuple(f"{name}={text}" for name, text in modes.items()),
        tones=tuple(with_point(question.tones).split()),
        temperature=with_point(question.temperature) or None,
        humidity=with_point(question.humidity) or None,
        stage=question.stage.strip() or None,
        note=question.note.strip() or None,
        photo=files.get("photo"),
        recording=files.get("recording"),
        without=question.parts.strip() or None,
        thickness=files.get("thickness"),
        corrects=question.corrects,
        take_out=tuple(_emptied(question, description)),
    )
    if typed.is_empty:
        raise InputError(
            "There is nothing to enter; expected a mass, a tone, a note or a file. Type what you found."
        )
    return typed


def _taken(question: EntryQuestion, description: Description) -> str | None:
    """Return the moment typed; None where it is left as it was, so that it keeps its zone."""
    old = description.log.get(f"{question.corrects}{SUFFIX}")
    typed = question.taken.strip()
    return None if old is not None and typed == old.taken.isoformat() else typed or None


def _emptied(question: EntryQuestion, description: Description) -> Iterator[str]:
    """Yield what the corrected entry has and the form has no more."""
    if question.corrects is None:
        return
    old = description.log.get(f"{question.corrects}{SUFFIX}")
    if old is None:
        raise InputError("That entry no longer stands; expected one of the table. Read the plate again.")
    for name, value in (
        ("mass", old.mass_g),
        ("temperature", old.temperature_c),
        ("humidity", old.humidity_pct),
        ("stage", old.stage),
        ("note", old.note),
        ("tones", old.tones_hz or None),
    ):
        if value is not None and not getattr(question, name).strip():
            yield "tone" if name == "tones" else name
    if old.without and not question.parts.strip():
        yield "without"
    yield from (f"mode={name}" for name in old.modes_hz if not question.modes.get(name, "").strip())
    yield from (kind for kind in dict.fromkeys(question.without) if getattr(old, kind) is not None)
