"""The answer of ``platewright climate``, as tables to read and as an object for other programs."""

from collections.abc import Iterator

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from solver.advice.climate_log import Weathered, brought_to, tones_brought_to, weather_parts
from solver.commands.climate_figures import Weather, figures_there, tones_there
from solver.commands.climate_words import (
    said_of_band,
    said_of_change,
    said_of_entries,
    said_of_settling,
    said_of_tones,
)
from solver.commands.tones import Json
from solver.modal.pitch import cents_between
from solver.plate.climate import Climate


def weather_as_json(weather: Weather) -> dict[str, Json]:
    """Return the object that ``--json`` prints: ``hz`` is now, ``low_hz`` to ``high_hz`` in the other room."""
    plate = weather.response.plate
    _, start, end = weather.conditions
    now, there = tones_there(weather)
    return {
        "title": plate.title,
        "role": plate.role,
        "moisture_pct": {"from": round(start.moisture_pct, 2), "to": round(end.moisture_pct, 2)},
        "modes": [_tone(weather, index, now[index], *there[index]) for index in range(len(now))],
        "changes": {
            f"{c.name}_{c.unit}": {
                "from": round(c.now, c.digits),
                "low": round(c.low, c.digits),
                "high": round(c.high, c.digits),
            }
            for c in figures_there(weather)
        },
        "reference": {
            "temperature_c": weather.reference.temperature_c,
            "humidity_pct": weather.reference.humidity_pct,
        },
        "log": [_entry(weather, entry) for entry in weather.entries],
        "since_last_entry": [*_parts(weather)],
        "remarks": [
            *said_of_settling(weather.response),
            *_said_of_log(weather),
        ],
    }


def _tone(weather: Weather, index: int, now: float, low: float, high: float) -> dict[str, Json]:
    return {
        "order": index + 1,
        "mode": weather.response.modes.names[index],
        "hz": round(float(now), 3),
        "low_hz": round(float(low), 3),
        "high_hz": round(float(high), 3),
        "low_cents": round(cents_between(now, low), 1),
        "high_cents": round(cents_between(now, high), 1),
    }


def _entry(weather: Weather, entry: Weathered) -> dict[str, Json]:
    seen = entry.observation
    modes = brought_to(weather.response, entry, weather.conditions[0])
    tones = tones_brought_to(weather.response, entry, weather.conditions[0])
    return {
        "entry": seen.name,
        "stage": seen.stage,
        "moisture_pct": {"low": round(entry.low, 2), "high": round(entry.high, 2)},
        "known_by": entry.known_by,
        "modes": [
            {"mode": mode, "measured_hz": seen.hz[mode], "low_hz": round(low, 3), "high_hz": round(high, 3)}
            for mode, (low, high) in modes.items()
        ],
        "tones": [
            {"measured_hz": hz, "low_hz": round(low, 3), "high_hz": round(high, 3)}
            for hz, (low, high) in zip(seen.tones, tones, strict=True)
        ],
    }


def _parts(weather: Weather) -> Iterator[Json]:
    """Yield what the weather did to the tones between the last two entries."""
    if len(weather.entries) > 1:
        for part in weather_parts(weather.response, *weather.entries[-2:]):
            yield {
                "mode": part.mode,
                "before_hz": part.before,
                "after_hz": part.after,
                "weather_low_hz": round(part.low - part.before, 3),
                "weather_high_hz": round(part.high - part.before, 3),
                "in_words": said_of_change(part),
            }


def weather_as_tables(weather: Weather) -> Group:
    """Return the tables of the other room and of the log, and what to make of them."""
    parts: list[RenderableType] = [
        Text(_said_of_rooms(weather)),
        _changes_table(weather),
        _tones_table(weather),
    ]
    parts += [Text(line) for line in said_of_band(weather.response.plate.wood)]
    parts += [Text(line) for line in said_of_settling(weather.response)]
    if weather.entries:
        parts.append(_log_table(weather))
    parts += [Text(line) for line in _said_of_log(weather)]
    parts += [Text(line) for line in _said_of_last(weather)]
    return Group(*parts)


def room_in_words(climate: Climate) -> str:
    """Write temperature and humidity of a room."""
    return f"{climate.temperature_c:g} °C, {climate.humidity_pct:g} %"


def _said_of_rooms(weather: Weather) -> str:
    _, start, end = weather.conditions
    return (
        f"From {room_in_words(weather.start)} to {room_in_words(weather.to)}: the wood goes from "
        f"{start.moisture_pct:.1f} to {end.moisture_pct:.1f} % moisture (Wood Handbook eq. 4-5), in hours to days."
    )


def _changes_table(weather: Weather) -> Table:
    table = Table(title="The plate and its wood", title_justify="left")
    table.add_column("")
    for head in ("Now", "There", "Change %"):
        table.add_column(head, justify="right")
    for c in figures_there(weather):
        change = band_in_words(100 * (c.low / c.now - 1), 100 * (c.high / c.now - 1), 2, "+")
        there = band_in_words(c.low, c.high, c.digits)
        table.add_row(
            f"{c.name.replace('_', ' ')}, {c.unit.replace('_', '/')}", f"{c.now:.{c.digits}f}", there, change
        )
    return table


def band_in_words(low: float, high: float, digits: int, sign: str = "") -> str:
    """Write a band, or one figure where both ends are the same."""
    ends = [f"{value:{sign}.{digits}f}" for value in (low, high)]
    return ends[0] if ends[0] == ends[1] else " to ".join(ends)


def _tones_table(weather: Weather) -> Table:
    table = Table(title="Its tones", title_justify="left")
    for head in ("Order", "Mode", "Now Hz", "There Hz", "Cents"):
        table.add_column(head, justify="center" if head == "Mode" else "right")
    now, there = tones_there(weather)
    for index, (hz, (low, high)) in enumerate(zip(now, there, strict=True)):
        cents = band_in_words(cents_between(hz, low), cents_between(hz, high), 0, "+")
        name = weather.response.modes.names[index]
        table.add_row(
            f"{index + 1}",
            Text(name or "-", "bold" if name else ""),
            f"{hz:.1f}",
            band_in_words(low, high, 1),
            cents,
        )
    return table


def _log_table(weather: Weather) -> Table:
    table = Table(
        title=f"The log, its tones in Hz brought to {room_in_words(weather.reference)}", title_justify="left"
    )
    for head in ("Taken", "Stage", "Room", "Wood %"):
        table.add_column(head, no_wrap=head == "Taken")
    for head in ("Mode", "Measured", "Brought"):
        table.add_column(head, justify="right", no_wrap=True)
    for entry in weather.entries:
        seen = entry.observation
        first = [
            f"{seen.taken:%Y-%m-%d}",
            seen.stage,
            f"{seen.climate.temperature_c:g} C {seen.climate.humidity_pct:g} %",
            band_in_words(entry.low, entry.high, 1) + (" scales" if entry.known_by == "scales" else ""),
        ]
        for row in _log_rows(weather, entry) or [("", "", "")]:
            table.add_row(*(Text(cell) for cell in (*first, *row)))
            first = [""] * len(first)
        table.add_section()
    return table


def _log_rows(weather: Weather, entry: Weathered) -> list[tuple[str, str, str]]:
    seen, there = entry.observation, weather.conditions[0]
    named = [
        (mode, f"{seen.hz[mode]:.1f}", band_in_words(*band, 1))
        for mode, band in brought_to(weather.response, entry, there).items()
    ]
    bands = tones_brought_to(weather.response, entry, there)
    return named + [
        ("-", f"{hz:.1f}", band_in_words(*band, 1)) for hz, band in zip(seen.tones, bands, strict=True)
    ]


def _said_of_log(weather: Weather) -> Iterator[str]:
    """Yield what is to be known of the entries, of tones that cannot be, and of what was left out."""
    yield from said_of_entries(weather.entries)
    yield from said_of_tones(weather.entries, weather.response.modes)
    yield from weather.left_out


def _said_of_last(weather: Weather) -> Iterator[str]:
    """Yield how much of the change between the last two entries is the weather's."""
    if len(weather.entries) < 2:
        return
    before, after = weather.entries[-2:]
    parts = weather_parts(weather.response, before, after)
    if parts:
        names = [f"{e.observation.taken:%Y-%m-%d %H:%M}" for e in (before, after)]
        yield f"From {names[0]} to {names[1]}:"
        yield from (f"  {said_of_change(part)}" for part in parts)
