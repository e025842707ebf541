"""``platewright blank``: the wood of a rectangular board before it is carved, from sizes, mass and first tones."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from solver.commands.headline import headline
from solver.commands.json_answer import print_json
from solver.commands.typed_path import as_typed
from solver.core.errors import InputError
from solver.core.units import GRAM
from solver.plate_folder.description import Description, read_description
from solver.plate_folder.schema import LogEntry

if TYPE_CHECKING:
    from solver.advice.fit_entry import FitEntry
    from solver.plate.plate import Plate


@dataclass(frozen=True)
class BlankRequest:
    """The folder of the board, which entry of its log if not the newest with tones, and how to answer."""

    folder: Path
    entry: str | None
    as_json: bool


def run_blank(request: BlankRequest, out: Console, busy: Console) -> None:
    """Print the wood of the board as tables and words, or as JSON.

    Raises InputError if the folder cannot be understood, is of no rectangular board, or lacks tones or a mass.
    """
    description = read_description(request.folder)
    name, entry = _entry(description, request.entry)
    _check_weighed(description, name, entry)
    if not request.as_json:
        out.print(headline(description.table))
    with busy.status("Reading the board"):
        from solver.plate_folder.read import read_folder

        plate = read_folder(description).stated
    with busy.status("Fitting its wood"):
        from solver.advice.board import board_of
        from solver.advice.board_wood import wood_of_board
        from solver.commands.blank_answer import BlankAnswer, blank_as_json, blank_as_tables

        board = board_of(plate, f"{request.folder}/plate.toml")
        found = wood_of_board(board, _evidence(description, plate, name, entry), _is_weighed(description))
        answer = BlankAnswer(plate, found, name, _room(description, entry))
    if request.as_json:
        print_json(blank_as_json(answer), out)
    else:
        out.print(blank_as_tables(answer))


def _entry(description: Description, asked: str | None) -> tuple[str, LogEntry]:
    """Return the entry asked for, by its name or the beginning of it; else the newest that has tones."""
    log = description.log
    if asked is not None:
        named = [name for name in log if name.startswith(asked)]
        if len(named) != 1:
            raise InputError(
                f"--entry: '{asked}' begins the name of {len(named)} entries; expected one of "
                f"{', '.join(log) or 'none, for the log is empty'}. Write its name."
            )
        log = {named[0]: log[named[0]]}
    heard = [(name, entry) for name, entry in log.items() if entry.modes_hz or entry.tones_hz]
    if not heard:
        silent = "the log" if asked is None else f"entry '{asked}'"
        raise InputError(
            f"{description.folder}/log: {silent} has no tones; expected what was heard of the board, and its "
            f"mass. Enter them with: platewright log {as_typed(description.folder)} --mass 98.5 --tone 121 --tone 147.5"
        )
    return heard[-1]


def _is_weighed(description: Description) -> bool:
    wood = description.table.wood
    return wood.density_kg_m3 is not None or wood.mass_g is not None


def _check_weighed(description: Description, name: str, entry: LogEntry) -> None:
    """Refuse a board that nobody weighed: tones tell stiffness over density alone."""
    if entry.mass_g is None and not _is_weighed(description):
        raise InputError(
            f"{description.folder}: neither log/{name} nor [wood] has mass_g; expected the board's mass, for tones tell "
            "no more than stiffness against density. Weigh it."
        )


def _evidence(description: Description, plate: "Plate", name: str, entry: LogEntry) -> "FitEntry":
    from solver.advice.fit_entry import FitEntry
    from solver.plate.plate_doubt import doubts_of

    grams = entry.mass_g if entry.mass_g is not None else description.table.wood.mass_g
    mass = None if grams is None else grams * GRAM
    return FitEntry(name, plate, doubts_of(plate, "flat"), entry.modes_hz, entry.tones_hz, mass, None)


def _room(description: Description, entry: LogEntry) -> str:
    """Name the room in which the constants hold: that of the entry, else that of plate.toml."""
    for source in (entry, description.table.climate):
        if source is not None and source.temperature_c is not None and source.humidity_pct is not None:
            return f"{source.temperature_c:g} °C, {source.humidity_pct:g} %"
    return "the room in which it was tapped, which is not noted"
