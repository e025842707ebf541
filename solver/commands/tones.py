"""The tones of a plate, as a table to read and as an object for other programs."""

from collections.abc import Sequence

import numpy as np
from rich.console import Group
from rich.table import Table
from rich.text import Text

from solver.advice.forecast import Forecast
from solver.commands.belief import FITTED_NOTE
from solver.core.arrays import Floats
from solver.core.units import GRAM, MM
from solver.modal.modes import Modes
from solver.modal.node_lines import hold_and_tap
from solver.modal.pitch import pitch
from solver.plate.mode_label import NUMBERS
from solver.plate.plate import Plate
from solver.viewer.tone_words import mixed_words, mode_cell

Json = dict[str, "Json"] | list["Json"] | str | float | int | None


def tones_as_json(
    plate: Plate, modes: Modes, without: Sequence[str], forecast: Forecast | None = None
) -> dict[str, Json]:
    """Return the object that ``--json`` prints: frequencies in Hz, places in mm, mass in g."""
    return {
        "title": plate.title,
        "role": plate.role,
        "mass_g": round(modes.mass / GRAM, 2),
        "modes": [_tone(modes, index) | _interval(forecast, index) for index in range(len(modes.hz))],
        "rigid_hz": [round(float(hz), 6) for hz in modes.rigid_hz],
        "unknowns": modes.unknowns,
        "seconds": {step: round(seconds, 3) for step, seconds in modes.seconds.items()},
        "without": list(without),
    }


def _tone(modes: Modes, index: int) -> dict[str, Json]:
    hz = float(modes.hz[index])
    note, cents = pitch(hz)
    places = hold_and_tap(modes, index)
    return {
        "order": index + 1,
        "hz": round(hz, 3),
        "mode": modes.names[index],
        "note": note,
        "cents": round(cents, 1),
        "shares": shares_of(modes, index),
        "hold_mm": [_whole_mm(point) for point in places.hold],
        "tap_mm": _whole_mm(places.tap),
    }


def shares_of(modes: Modes, index: int) -> list[Json]:
    """Return what part a tone has in the patterns of the trade's numbers, the largest first, as ``--json`` prints it."""
    patterns = [modes.pattern(name) for name in NUMBERS]
    parts = [(p.shares[p.places.index(index)], p.name) for p in patterns if index in p.places]
    return [{"mode": name, "share": round(share, 3)} for share, name in sorted(parts, reverse=True)]


def _interval(forecast: Forecast | None, index: int) -> dict[str, Json]:
    """Return the interval of a tone, and what the model alone makes of it, where the wood was fitted."""
    if forecast is None:
        return {}
    return {
        "low_hz": round(float(forecast.low[index]), 3),
        "high_hz": round(float(forecast.high[index]), 3),
        "model_hz": round(float(forecast.hz[index]), 3),
    }


def tones_as_table(modes: Modes, forecast: Forecast | None = None) -> Group:
    """Return the table of tones, and under it what the figures mean."""
    table = Table()
    table.add_column("Order", justify="right")
    table.add_column("Mode", justify="center")
    table.add_column("Hz", justify="right")
    if forecast is not None:
        table.add_column("95 %", justify="right", no_wrap=True)
    table.add_column("Note", justify="right")
    table.add_column("Hold at x, y mm")
    table.add_column("Tap at x, y mm")
    for index, hz in enumerate(modes.hz):
        note, cents = pitch(float(hz))
        places = hold_and_tap(modes, index)
        name = Text(mode_cell(modes, index), "bold" if modes.names[index] else "")
        hold = "  or  ".join(_place(point) for point in places.hold)
        sure = [] if forecast is None else [f"{forecast.low[index]:.1f} to {forecast.high[index]:.1f}"]
        table.add_row(
            f"{index + 1}", name, f"{hz:.1f}", *sure, f"{note} {cents:+.0f}", hold, _place(places.tap)
        )
    notes = [] if forecast is None else [FITTED_NOTE]
    said = (*mixed_words(modes), *_legend(modes), *notes, *modes.smoothed)
    return Group(table, *(Text(line) for line in said))


def _legend(modes: Modes) -> list[str]:
    rigid = float(np.abs(modes.rigid_hz).max())
    spent = ", ".join(f"{step} {seconds:.1f} s" for step, seconds in modes.seconds.items())
    return [
        f"{modes.mass / GRAM:.1f} g. Mode: the trade's number, given by the shape; note with "
        "cents at A4 = 440 Hz. x from the lower end along the centre line, y to the left seen from outside.",
        f"Check: moved as a whole, without strain, the model makes {rigid:.1g} Hz (in truth 0; small beside the first "
        "tone is good). "
        f"{modes.unknowns} unknowns, {spent}.",
    ]


def _place(point: Floats) -> str:
    return f"{point[0] / MM:.0f}, {point[1] / MM:.0f}"


def _whole_mm(point: Floats) -> list[Json]:
    """Return a point in plan [m] in mm, as exactly as a finger finds it."""
    return [float(round(value / MM)) for value in point]
