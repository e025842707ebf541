"""The wood found from the log, and what another room does to the plate: each in a process of its own."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from meshes.input_file import file_bytes
from solver.bench.page_words import in_page_words
from solver.bench.told import Answer
from solver.bench.work import Progress
from solver.commands.climate import weather_of
from solver.commands.climate_answer import weather_as_json
from solver.commands.climate_words import said_of_band
from solver.commands.fit import check_told, chosen_entries, fit_folder
from solver.commands.fit_answer import fit_as_json
from solver.core.errors import InputError
from solver.plate.climate import Climate
from solver.plate.wood_posterior import WoodPosterior
from solver.plate_folder.description import PLATE_FILE, read_description
from solver.plate_folder.read import read_folder

if TYPE_CHECKING:
    from solver.advice.fitted_wood import WoodFit


@dataclass(frozen=True, eq=False)
class FoundWood:
    """What a fit to the entries called ``names`` found.

    ``before`` is what plate.toml held when it began, ``answer`` the command's object, ``why_not`` a sentence if it
    may not be kept.
    """

    before: bytes
    names: tuple[str, ...]
    posterior: WoodPosterior
    answer: Answer
    why_not: str | None

    @property
    def doubts(self) -> int:
        """How many figures of the log are in doubt."""
        doubts = self.answer["doubts"]
        assert isinstance(doubts, list)
        return len(doubts)


def wood_order(folder: Path, entries: Sequence[str]) -> str:
    """Return what is to be fitted as it is handed to the process."""
    return json.dumps({"folder": str(folder), "entries": [*entries]})


def find_wood(progress: Progress, order_text: str) -> FoundWood:
    """Return the wood that the log tells; raises InputError as ``platewright fit``."""
    order = json.loads(order_text)
    folder = Path(order["folder"])
    progress.say("Reading the plate", 0.0)
    before = file_bytes(folder / PLATE_FILE)
    description = read_description(folder)
    names = chosen_entries(description.log, order["entries"])
    read = read_folder(description)
    progress.say("Solving, and finding the wood", 0.15)
    fit = fit_folder(read, names)
    return FoundWood(before, names, fit.posterior, fit_as_json(read.stated, fit, names, None), _why_not(fit))


def _why_not(fit: "WoodFit") -> str | None:
    try:
        check_told(fit)
    except InputError as refusal:
        return in_page_words(str(refusal))
    return None


def weather_order(folder: Path, to: Climate, start: Climate | None) -> str:
    """Return which rooms are compared as it is handed to the process."""
    rooms = [None if room is None else [room.temperature_c, room.humidity_pct] for room in (to, start)]
    return json.dumps({"folder": str(folder), "to": rooms[0], "from": rooms[1]})


def tell_weather(progress: Progress, order_text: str) -> Answer:
    """Return the object of ``platewright climate --json``, and under ``band`` how low and high come about.

    Raises InputError as that command.
    """
    order = json.loads(order_text)
    progress.say("Reading and solving the plate", 0.1)
    start = None if order["from"] is None else Climate(*order["from"])
    description = read_description(Path(order["folder"]))
    weather = weather_of(description, Climate(*order["to"]), start, same_wood=False)
    return {**weather_as_json(weather), "band": [*said_of_band(weather.response.plate.wood)]}
