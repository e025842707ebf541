"""``platewright tap``: the tones of a plate from recordings of taps."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from solver.commands.headline import headline
from solver.commands.json_answer import print_json
from solver.commands.log_dialogue import YES, Ask
from solver.commands.typed_path import as_typed
from solver.core.errors import InputError
from solver.measured.read_apart import recordings_apart
from solver.plate_folder.description import read_description
from solver.viewer.page_files import picture_kind

if TYPE_CHECKING:
    from solver.advice.tap_reading import TappedPlate, TapReading
    from solver.advice.tone_response import ToneResponse
    from solver.measured.recording import Recording
    from solver.measured.tap_tones import TapTones
    from solver.plate.plate_doubt import Doubts
    from solver.plate_folder.read import PlateFolder


_NOT_ENTERED = "Nothing was entered; if these tones are the plate's all the same, add --as-typed."


@dataclass(frozen=True)
class TapRequest:
    """What the maker asked for on the command line."""

    recordings: tuple[Path, ...]
    folder: Path | None
    log: bool
    picture: Path | None
    as_typed: bool
    as_json: bool


def run_tap(request: TapRequest, out: Console, busy: Console, ask: Ask | None) -> None:
    """Print the tones of the recordings as a table or as JSON; draw them and enter them into the log if asked for.

    What is spoilt by other sounds is entered only if that is asked for or the person at the terminal wants it; ``ask`` is
    None where nobody sits there.

    Raises InputError if a recording or the folder cannot be used, or something cannot or should not be written.
    """
    if request.log and request.folder is None:
        raise InputError("--log: no plate is named; expected the plate whose log it is. Add --plate FOLDER.")
    if request.picture is not None:
        picture_kind(request.picture)
    description = None if request.folder is None else read_description(request.folder)
    if not request.as_json:
        names = Text(_names(request), "bold")
        out.print(names if description is None else headline(description.table))
    with busy.status("Listening"), recordings_apart(request.recordings) as finished:
        from solver.measured.tap_tones import hear_tones

        recordings = finished()
        heard = hear_tones(recordings)
    reading, folder = None, None
    if description is not None:
        with busy.status("Solving"):
            from solver.plate_folder.read import read_folder

            folder = read_folder(description)
            reading = held_against(heard, folder)
    from solver.commands.tap_answer import tap_as_json, tap_as_table

    drawn = [*_draw(request, recordings, heard, reading)]
    if request.as_json:
        print_json(tap_as_json(heard, reading), out)
    else:
        out.print(tap_as_table(heard, reading, folder))
    for line in drawn:
        busy.print(line, markup=False)
    if request.log and request.folder is not None and reading is not None:
        for line in _enter(request, request.folder, reading, None if request.as_json else ask):
            busy.print(line, markup=False)


def _names(request: TapRequest) -> str:
    return ", ".join(path.name for path in request.recordings)


def held_against(heard: "TapTones", folder: "PlateFolder") -> "TapReading":
    """Return the tones paired with the modes of the plate, of the wood that was fitted if there is a record of it."""
    from solver.advice.tap_reading import read_taps, tones_to_compute
    from solver.advice.tone_response import meshed, tone_response

    plate, count = folder.plate, tones_to_compute(len(heard.tones))
    tapped = tapped_plate(folder, lambda doubts: tone_response(meshed(plate), plate, doubts, count))
    return read_taps(heard, tapped)


def tapped_plate(folder: "PlateFolder", response: "Callable[[Doubts], ToneResponse]") -> "TappedPlate":
    """Return the plate of a folder as tones are held against it; ``response`` tells how they hang on what is not known."""
    from solver.advice.tap_reading import TappedPlate
    from solver.advice.wood_prior import wood_prior
    from solver.plate_folder.log_states import plate_doubts

    wood = folder.description.table.wood
    weighed = wood.density_kg_m3 is not None or wood.mass_g is not None
    doubts = plate_doubts(folder.description, folder.plate)
    return TappedPlate(folder.plate, response(doubts), doubts, wood_prior(folder.plate.wood, weighed))


def _draw(
    request: TapRequest, recordings: "tuple[Recording, ...]", heard: "TapTones", reading: "TapReading | None"
) -> Iterator[str]:
    """Draw what was asked for; yield what was done."""
    if request.picture is not None:
        from solver.measured.spectrum import tap_spectrum
        from solver.viewer.tap_picture import draw_taps

        draw_taps(tap_spectrum(recordings), heard, reading, request.picture)
        yield f"Drawn in {request.picture}"


def _enter(request: TapRequest, folder: Path, reading: "TapReading", ask: Ask | None) -> Iterator[str]:
    """Enter the tones into the log of the plate; yield what was done.

    Raises InputError if the recording is spoilt and nobody says that its tones are to be entered all the same.
    """
    if reading.doubtful and not request.as_typed:
        if ask is None:
            raise InputError(f"{_names(request)}: {reading.warnings[-1]} {_NOT_ENTERED}")
        if ask("Enter these tones all the same? [y/N] ").strip().lower() not in YES:
            yield "Nothing was entered."
            return
    names = map(reading.likely_name, range(len(reading.tones)))
    stamp = enter_tones(
        folder,
        request.recordings,
        [(name, tone.hz) for name, tone in zip(names, reading.tones, strict=True)],
        {},
    )
    yield (
        f"Entered as log/{stamp}.toml. Add what you weighed, and the room, with: "
        f"platewright log {as_typed(folder)} --corrects last --mass G --temperature C --humidity PCT"
    )


def enter_tones(
    folder: Path,
    recordings: Sequence[Path],
    named: Sequence[tuple[str | None, float]],
    beside: Mapping[str, float | None],
) -> str:
    """Add tones [Hz], each with the number of its mode if it has one, to the log of the plate, and return the stamp.

    The recordings are kept in the folder; ``beside`` is what the entry says besides by its keys, as mass and room.
    """
    from datetime import datetime

    from solver.plate_folder.kept_file import kept_file
    from solver.plate_folder.log_writing import add_entry
    from solver.plate_folder.schema import LogEntry

    kept = [kept_file(folder, path, "recordings", "RECORDING") for path in recordings]
    entry = LogEntry.model_validate(
        {
            "taken": datetime.now().astimezone().replace(microsecond=0),
            "modes_hz": {name: round(hz, 2) for name, hz in named if name},
            "tones_hz": tuple(round(hz, 2) for name, hz in named if not name),
            "note": f"Heard in {', '.join(kept)}." if len(kept) > 1 else None,
            "recording": kept[0],
            **beside,
        }
    )
    return add_entry(folder, entry)
