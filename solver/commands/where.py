"""``platewright where``: where a shaving lowers a mode most, where it leaves it alone, where it tells two apart."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console, Group
from rich.table import Table
from rich.text import Text

from solver.commands.headline import headline
from solver.commands.json_answer import print_json
from solver.commands.plan_request import tone_asked
from solver.core.errors import InputError
from solver.core.units import GRAM, MM
from solver.plate.mode_label import key_called
from solver.plate_folder.description import read_description
from solver.viewer.page_files import picture_kind
from solver.viewer.tone_words import mixed_words

if TYPE_CHECKING:
    from solver.advice.places_in_words import PlaceWords
    from solver.advice.plan_trials import PlanTrial
    from solver.advice.thinning import ShavingPlace, ThinningMap
    from solver.commands.tones import Json
    from solver.plate.plate import Plate

SHAVING = "0.1 mm from 1 cm2"


@dataclass(frozen=True)
class WhereRequest:
    """What the maker asked for on the command line; no modes stand for those that makers tap for."""

    folder: Path
    modes: tuple[str, ...]
    picture: Path | None
    pictures: Path | None
    as_json: bool


def run_where(request: WhereRequest, out: Console, busy: Console) -> None:
    """Print where a shaving does what as a table or as JSON, then draw it if asked for.

    Raises InputError if the folder or a mode cannot be understood, or if something cannot be written.
    """
    if request.picture is not None:
        picture_kind(request.picture)
    description = read_description(request.folder)
    if not request.as_json:
        out.print(headline(description.table))
    with busy.status("Reading the plate") as status:
        from solver.plate_folder.read import read_folder

        plate = read_folder(description).plate
        status.update("Solving")
        thinning = thinning_of(plate, request.modes)
    if request.as_json:
        print_json(where_as_json(thinning), out)
    else:
        out.print(where_as_table(thinning))
    with busy.status("Drawing"):
        for line in _keep(request, thinning):
            busy.print(line, markup=False)


def thinning_of(plate: "Plate", modes: Sequence[str]) -> "ThinningMap":
    """Return what a shaving does where to the modes asked for, else to those that makers tap for.

    Raises InputError if a mode cannot be understood or is not found.
    """
    from solver.advice.thinning import thinning_map, untouched_trial
    from solver.advice.wished_tones import own_key, partners, with_keys

    trial = untouched_trial(plate)
    asked = [own_key(trial, tone_asked("--mode", text)) for text in modes]
    trial = with_keys(trial, (*asked, *partners(trial)))
    return thinning_map(trial, _names(asked, trial))


def _names(asked: Sequence[str], trial: "PlanTrial") -> tuple[str, ...]:
    """Return the modes asked for; raises InputError where the plate has no tone of that shape."""
    from solver.viewer.sheet.content import USUAL_TONES

    found = [name for name in trial.modes.names if name]
    for name in asked:
        if name not in found:
            raise InputError(
                f"--mode: no tone of this plate has the shape of {key_called(name)}; expected one that was found: "
                f"{', '.join(key for key in found if key[0] != '#') or 'none'}, or a tone by its place, as in "
                '"6th tone". See them with: platewright modes'
            )
    names = tuple(asked) or tuple(name for name in USUAL_TONES if name in found)
    if not names:
        raise InputError(
            "platewright where: no tone of this plate has a number by its shape; expected at least one. "
            "See its tones with: platewright modes"
        )
    return names


def _keep(request: WhereRequest, thinning: "ThinningMap") -> Iterator[str]:
    """Draw what was asked for; yield what was done."""
    from solver.viewer.thinning_map import draw_thinning, write_thinning_pictures

    if request.picture is not None:
        paths = draw_thinning(thinning, request.picture)
        yield f"Drawn in {', '.join(str(path) for path in paths)}"
    if request.pictures is not None:
        yield f"{len(write_thinning_pictures(thinning, request.pictures))} pictures in {request.pictures}"


def where_as_json(thinning: "ThinningMap") -> "dict[str, Json]":
    """Return the object that ``--json`` prints: Hz and g for ``shaving``, and for 0.1 mm from the whole plate."""
    from solver.viewer.thinning_map import place_words

    words = place_words(thinning.plate)
    first, *others = thinning.names
    return {
        "title": thinning.plate.title,
        "role": thinning.plate.role,
        "shaving": SHAVING,
        "whole_g": round(thinning.whole_mass / GRAM, 3),
        "modes": [
            {
                "mode": name,
                "hz": round(thinning.hz(name), 3),
                "whole_hz": round(thinning.whole(name), 3),
                "lowers": [_place(place, words) for place in thinning.lowest(name)],
                "raises_or_least": [_place(place, words) for place in thinning.highest(name)],
            }
            for name in thinning.names
        ],
        "tells": {
            "mode": first,
            "against": [*others],
            "places": [_place(place, words) for place in thinning.telling()],
        }
        if others
        else None,
    }


def _place(place: "ShavingPlace", words: "PlaceWords") -> "Json":
    return {
        "where": words.at(place.point),
        "at_mm": [float(round(value / MM)) for value in place.point],
        "change_hz": {name: round(hz, 5) for name, hz in place.hz.items()},
        "change_g": round(place.grams, 5),
    }


def where_as_table(thinning: "ThinningMap") -> Group:
    """Return the table of places and changes, and under it what the figures mean."""
    from solver.viewer.thinning_map import place_words

    words, table = place_words(thinning.plate), Table()
    table.add_column("A shaving")
    table.add_column("Place")
    table.add_column("x, y mm", justify="right")
    for name in thinning.names:
        table.add_column(f"{key_called(name).capitalize()}\nHz", justify="right")
    for what, places in _kinds(thinning):
        for number, place in enumerate(places):
            x, y = place.point / MM
            changes = (f"{hz:+.3f}" for hz in place.hz.values())
            said = "" if number else what
            table.add_row(
                said, words.at(place.point), f"{x:.0f}, {y:.0f}", *changes, end_section=place is places[-1]
            )
    return Group(table, *(Text(line) for line in _legend(thinning)))


def _kinds(thinning: "ThinningMap") -> "Iterator[tuple[str, tuple[ShavingPlace, ...]]]":
    """Yield what a shaving does, and the places where."""
    from solver.viewer.thinning_map import what_it_does

    for name in thinning.names:
        lowest, highest = thinning.lowest(name), thinning.highest(name)
        yield f"lowers {_short(name)} most", lowest
        if highest:
            yield what_it_does(highest[0].hz[name], most=False).replace("it", _short(name)), highest
    if len(thinning.names) > 1:
        first, *others = thinning.names
        left = " and ".join(_short(name) for name in others)
        yield f"lowers {_short(first)}, leaves {left}", thinning.telling()


def _short(key: str) -> str:
    """Return the number of a mode, or the words for a tone without one."""
    return f"the {key_called(key)}" if key.startswith("#") else key


def _legend(thinning: "ThinningMap") -> Iterator[str]:
    """Yield what the figures mean, and what a shaving from the whole plate does."""
    import numpy as np

    milligrams = -1000 * float(np.median(thinning.sensitivity.gram_map[~thinning.in_strip()]))
    yield f"Hz for {SHAVING} (about {milligrams:.1f} mg), to first order, outer surface untouched; nothing under the bar."
    yield from mixed_words(thinning.modes)
    whole = ", ".join(f"{key_called(name)} {thinning.whole(name):+.1f} Hz" for name in thinning.names)
    yield f"0.1 mm from the whole inside: {whole}, {thinning.whole_mass / GRAM:+.1f} g."
    yield "Try a hollow with: platewright shave FOLDER --spot X,Y,RADIUS,DEPTH. Take small passes, measure between."
