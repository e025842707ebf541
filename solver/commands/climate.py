"""``platewright climate``: what another room does to a plate, and what the weather did to the tones in its log."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from solver.commands.headline import headline
from solver.commands.json_answer import print_json
from solver.commands.log_observations import observed
from solver.core.errors import InputError
from solver.plate_folder.description import Description, read_description

if TYPE_CHECKING:
    from solver.advice.climate_log import Observation
    from solver.commands.climate_figures import Weather
    from solver.plate.climate import Climate


@dataclass(frozen=True)
class ClimateRequest:
    """What the maker asked for: the room to go to, that to come from if it is not plate.toml's, in °C and %.

    ``same_wood`` says that nothing was carved or glued between the last two entries of the log.
    """

    folder: Path
    to: "Climate"
    start: "Climate | None"
    same_wood: bool
    as_json: bool


def room_called(text: str, option: str) -> "Climate":
    """Return the room that ``TEMP,RH`` names; raises InputError if it is none, or one for which no rule is known."""
    from solver.plate.climate import checked_climate

    try:
        temperature, humidity = (float(part) for part in text.split(","))
    except ValueError:
        raise InputError(
            f'{option} is "{text}"; expected temperature in °C and humidity in %, with a comma between and points '
            f"for decimals. Write for instance: {option} 20,65"
        ) from None
    return checked_climate(temperature, humidity, option)


def run_climate(request: ClimateRequest, out: Console, busy: Console) -> None:
    """Print what the other room does as tables and words, or as JSON.

    Raises InputError if the folder cannot be understood, or a room is outside the rules.
    """
    description = read_description(request.folder)
    if not request.as_json:
        out.print(headline(description.table))
    with busy.status("Solving"):
        from solver.commands.climate_answer import weather_as_json, weather_as_tables

        weather = weather_of(description, request.to, request.start, request.same_wood)
    if request.as_json:
        print_json(weather_as_json(weather), out)
    else:
        out.print(weather_as_tables(weather))


def weather_of(
    description: Description, to: "Climate", start: "Climate | None", same_wood: bool
) -> "Weather":
    """Return what the room ``to`` does to a plate that comes from ``start``, by default the room of plate.toml.

    Raises InputError if that is missing, the plate cannot be read or solved, or there are no two masses for ``same_wood``.
    """
    reference, begin = _rooms(description, start)
    observations, left_out = observed(description.log)
    if same_wood:
        _check_weighed(observations)
    from solver.advice.climate_log import moistures
    from solver.advice.climate_shift import weather_response
    from solver.commands.climate_figures import Weather
    from solver.plate_folder.read import read_folder

    response = weather_response(read_folder(description).plate)
    return Weather(response, reference, begin, to, moistures(observations, same_wood), left_out)


def _rooms(description: Description, start: "Climate | None") -> "tuple[Climate, Climate]":
    """Return the room in which the stated constants hold, and that from which the plate comes."""
    from solver.plate.climate import checked_climate

    stated = description.table.climate
    if stated is None:
        if start is None:
            raise InputError(
                "plate.toml: [climate] is missing; expected the room in which its figures hold. "
                "Add it, or name the room with --from."
            )
        return start, start
    reference = checked_climate(stated.temperature_c, stated.humidity_pct, "plate.toml: [climate]")
    return reference, start or reference


def _check_weighed(observations: "tuple[Observation, ...]") -> None:
    """Refuse ``--same-wood`` where there are no two masses to compare."""
    weighed = [observation.mass is not None for observation in observations[-2:]]
    if len(weighed) < 2 or not all(weighed):
        raise InputError(
            "--same-wood: the log does not end with two entries that have a room and a mass; expected both weighed. "
            "Leave it out, or weigh the plate and write mass_g into the entry."
        )
