"""``platewright fit``: the wood's own constants, from the tones and the mass in the log."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from meshes.input_file import file_bytes
from solver.commands.headline import headline
from solver.commands.json_answer import print_json
from solver.commands.log_observations import observed
from solver.core.errors import InputError
from solver.core.units import GRAM
from solver.plate_folder.description import PLATE_FILE, Description, read_description
from solver.plate_folder.schema import LogEntry
from solver.plate_folder.stage_doubts import stage_doubts

if TYPE_CHECKING:
    from solver.advice.fit_entry import FitEntry
    from solver.advice.fitted_wood import WoodFit
    from solver.plate.climate import Condition
    from solver.plate_folder.read import PlateFolder


@dataclass(frozen=True)
class FitRequest:
    """What the maker asked for; ``entries`` names entries of the log, none for those that are usual."""

    folder: Path
    entries: tuple[str, ...]
    write: bool
    as_json: bool


def run_fit(request: FitRequest, out: Console, busy: Console) -> None:
    """Print the wood that the log tells as tables and words, or as JSON, and keep it if that was asked for.

    Raises InputError if the folder cannot be understood, there is nothing to fit, or the record cannot be written.
    """
    description = read_description(request.folder)
    before = file_bytes(request.folder / PLATE_FILE)
    if not request.as_json:
        out.print(headline(description.table))
    names = chosen_entries(description.log, request.entries)
    with busy.status("Reading the plate"):
        from solver.plate_folder.read import read_folder

        read = read_folder(description)
    with busy.status("Solving"):
        fit = fit_folder(read, names)
    written = datetime.now().astimezone() if request.write else None
    if written is not None:
        from solver.plate_folder.fitted_table import record_text, write_record

        check_told(fit)
        write_record(request.folder, before, record_text(fit.posterior, written, names))
    from solver.commands.fit_answer import fit_as_json, fit_as_tables

    if request.as_json:
        print_json(fit_as_json(read.stated, fit, names, written), out)
    else:
        out.print(fit_as_tables(fit, names, written))


def check_told(fit: "WoodFit") -> None:
    """Refuse to keep a wood of which no tone told anything."""
    from solver.advice.fit_doubts import doubts_in

    if not any(tone.is_used for tone in fit.tones):
        why = " ".join(doubt.in_words for doubt in doubts_in(fit)[:1])
        raise InputError(
            f"--write: no tone could be used; expected at least one that goes with a mode. {why}"
        )


def chosen_entries(log: Mapping[str, LogEntry], wanted: Sequence[str]) -> tuple[str, ...]:
    """Return the names of the entries to fit, oldest first.

    ``wanted`` are names or their beginnings; if there are none, the newest entry with tones is taken, and every older one
    that names a thickness of its own: the plate was another then, unless the entry says which.

    Raises
    ------
    InputError
        If the log has no tones, or a name stands for no entry or for several.
    """
    heard = [name for name, entry in log.items() if entry.modes_hz or entry.tones_hz]
    if not heard:
        raise InputError(
            "log: there is no entry with tones; expected what you heard, in a file such as log/2026-03-14T190500.toml with "
            "taken, mass_g and modes_hz = { 1 = 88.0, 2 = 168.5, 5 = 342.0 }. Tap, weigh, and write it."
        )
    if not wanted:
        return tuple(name for name in heard if name == heard[-1] or log[name].thickness is not None)
    chosen = {_called(heard, list(log), name) for name in wanted}
    return tuple(name for name in heard if name in chosen)


def _called(heard: Sequence[str], log: Sequence[str], wanted: str) -> str:
    start = wanted.removeprefix("log/").removesuffix(".toml")
    found = [name for name in heard if name.startswith(start)]
    if len(found) == 1:
        return found[0]
    silent = [name for name in log if name.startswith(start)]
    what = (
        f"stands for {len(found)} entries"
        if found
        else "has no tones"
        if silent
        else "is no entry of the log"
    )
    raise InputError(
        f'--entry: "{wanted}" {what}; expected the name of one with tones, or its beginning. '
        f"They are {', '.join(name.removesuffix('.toml') for name in heard)}."
    )


def fit_folder(read: "PlateFolder", names: Sequence[str]) -> "WoodFit":
    """Return the fit to the named entries of a folder that was read.

    Raises InputError if a file that an entry names cannot be used, or no sound mesh can be made.
    """
    from solver.advice.wood_fit import fit_wood
    from solver.advice.wood_prior import wood_prior

    wood = read.description.table.wood
    weighed = wood.density_kg_m3 is not None or wood.mass_g is not None
    entries, reference = fit_entries(read, names)
    return fit_wood(entries, wood_prior(read.stated.wood, weighed), reference)


def fit_entries(read: "PlateFolder", names: Sequence[str]) -> "tuple[list[FitEntry], Condition | None]":
    """Return the entries as the fit takes them, and the condition of the wood in the room that they are brought to."""
    from solver.advice.climate_log import moistures
    from solver.advice.fit_entry import FitEntry
    from solver.plate_folder.log_states import plates_of_log

    description = read.description
    weathered = {entry.observation.name: entry for entry in moistures(observed(description.log)[0])}
    rooms = {name: weathered[name].conditions for name in names if name in weathered}
    plates = plates_of_log(description, read.stated, names)
    entries = []
    for name in names:
        entry, (plate, doubts) = description.log[name], plates[name]
        mass = None if entry.mass_g is None else entry.mass_g * GRAM
        numbered, room = dict(entry.modes_hz), rooms.get(name)
        remark = " ".join(stage_doubts(entry, description.table))
        entries.append(FitEntry(name, plate, doubts, numbered, entry.tones_hz, mass, room, remark))
    return entries, reference_condition(description, rooms)


def reference_condition(
    description: Description, rooms: "Mapping[str, tuple[Condition, Condition]]"
) -> "Condition | None":
    """Return the condition of the wood in plate.toml's room, else in the newest entry's; None where no room is known."""
    from solver.plate.climate import checked_climate, settled_in

    stated = description.table.climate
    if stated is not None:
        return settled_in(
            checked_climate(stated.temperature_c, stated.humidity_pct, f"{PLATE_FILE}: [climate]")
        )
    return list(rooms.values())[-1][-1] if rooms else None
