"""The answer of ``platewright tap``, as a table to read and as an object for other programs."""

from collections.abc import Iterator

from rich.console import Group
from rich.table import Table
from rich.text import Text

from solver.advice.places_in_words import in_mm
from solver.advice.tap_reading import TapReading
from solver.commands.tones import Json
from solver.core.units import MM
from solver.measured.mains import is_mains
from solver.measured.tap_tones import TapTones, Tone
from solver.modal.node_lines import hold_and_tap
from solver.modal.pitch import pitch
from solver.plate.plate import Plate
from solver.plate_folder.read import PlateFolder
from solver.viewer.captions import mode_name

_ON_THE_PLATE = (
    "Mode: the trade's number; in brackets the place by pitch where there is none; ? where it may be another; - none "
    "that was computed. Fit the wood to the log, and the predictions come nearer."
)


def tap_as_json(heard: TapTones, reading: TapReading | None) -> dict[str, Json]:
    """Return the object that ``--json`` prints: Hz with standard errors, Q, and modes by the trade's number."""
    said = reading or heard
    return {
        "tones": [_tone(tone, place, reading) for place, tone in enumerate(heard.tones)],
        "taps": heard.taps,
        "steady_hz": [round(hz, 3) for hz in heard.steady_hz],
        "silent": [] if reading is None else [_silent(reading, mode) for mode in reading.silent],
        "warnings": [*said.warnings],
        "doubtful": said.doubtful,
    }


def _tone(tone: Tone, place: int, reading: TapReading | None) -> dict[str, Json]:
    figures: dict[str, Json] = {
        "hz": round(tone.hz, 4),
        "sd_hz": round(tone.sd_hz, 5),
        "q": round(tone.q, 2),
        "sd_q": round(tone.sd_q, 3),
        "level_db": round(tone.level_db, 1),
        "parts_hz": round(tone.parts_hz, 2),
        "mode": None,
    }
    if reading is None:
        return figures
    mode, pairing = reading.mode(place), reading.paired[place]
    return figures | {
        "mode": reading.name(place),
        "order": None if mode is None else mode + 1,
        "predicted_hz": None if mode is None else round(float(reading.modes.hz[mode]), 3),
        "probability": None if pairing is None else round(pairing.probability, 3),
    }


def _silent(reading: TapReading, mode: int) -> dict[str, Json]:
    places, hidden = hold_and_tap(reading.modes, mode), reading.may_hide_in(mode)
    return {
        "order": mode + 1,
        "mode": reading.modes.names[mode],
        "predicted_hz": round(float(reading.modes.hz[mode]), 3),
        "may_hide_in_hz": None if hidden is None else round(reading.tones[hidden].hz, 4),
        "hold_mm": [[float(round(value / MM)) for value in point] for point in places.hold],
        "tap_mm": [float(round(value / MM)) for value in places.tap],
    }


def tap_as_table(heard: TapTones, reading: TapReading | None, folder: PlateFolder | None) -> Group:
    """Return the table of tones, and under it what they mean, what was left out and what did not sound."""
    table = Table()
    for name in ("Hz", "±", "Note", "Q", "±", "dB", "Parts"):
        table.add_column(name, justify="right")
    if reading is not None:
        table.add_column("Mode", justify="center")
        table.add_column("Predicted Hz", justify="right")
    for place, tone in enumerate(heard.tones):
        note, cents = pitch(tone.hz)
        figures = (f"{tone.hz:.2f}", f"{max(tone.sd_hz, 0.01):.2f}", f"{note} {cents:+.0f}")
        damping = (
            f"{tone.q:.0f}",
            f"{max(tone.sd_q, 1.0):.0f}",
            f"{tone.level_db:.0f}",
            f"{tone.parts_hz:.1f}",
        )
        table.add_row(*figures, *damping, *(() if reading is None else _mode_cells(reading, place)))
    lines = [*_meaning(heard), *(reading or heard).warnings]
    if reading is not None and folder is not None:
        lines += [_ON_THE_PLATE, *silent_in_words(reading, folder.plate)]
    return Group(table, *(Text(line) for line in lines))


def _mode_cells(reading: TapReading, place: int) -> tuple[str, str]:
    """Return the mode of a tone and its predicted frequency; with a question mark where another may be meant."""
    mode, pairing = reading.mode(place), reading.paired[place]
    if mode is None or pairing is None:
        return "-", ""
    name = reading.modes.names[mode] or f"({mode + 1})"
    return name if reading.is_sure(place) else f"{name} ?", f"{reading.modes.hz[mode]:.1f}"


def _meaning(heard: TapTones) -> Iterator[str]:
    taps = f"{heard.taps} taps together" if heard.taps > 1 else "One tap"
    yield (
        f"{taps}. ±: one standard error; the truth lies within two of them 19 times out of 20. Q: how long it rings, "
        "in periods times pi. dB: strength at the tap, under the strongest. Parts: two modes nearer than so many Hz may "
        "sound as this one tone; taps in several places, and a quieter room, part them."
    )
    hum = [hz for hz in heard.steady_hz if is_mains(hz, heard.steady_hz)]
    room = [hz for hz in heard.steady_hz if not is_mains(hz, heard.steady_hz)]
    if hum:
        yield f"Not the plate's: hum of the mains at {_listed(hum)}."
    if room:
        yield f"Not the plate's: {_listed(room)}, which sounds without the tap or does not ring down."


def _listed(hz: list[float]) -> str:
    return f"{', '.join(f'{one:.1f}' for one in hz)} Hz"


def silent_in_words(reading: TapReading, plate: Plate) -> Iterator[str]:
    """Yield for each mode that probably was not excited where to hold and tap the plate, so that it is."""
    from solver.viewer.thinning_map import place_words

    words = place_words(plate)
    for mode in reading.silent:
        name, places = reading.modes.names[mode], hold_and_tap(reading.modes, mode)
        called = f"Mode {name}" if name else f"The {mode_name(reading.modes, mode)}"
        holds = " or ".join(f"{in_mm(point)} ({words.at(point)})" for point in places.hold)
        predicted, hidden = (
            f"{called}, predicted at {reading.modes.hz[mode]:.0f} Hz,",
            reading.may_hide_in(mode),
        )
        why = (
            "probably was not excited"
            if hidden is None
            else f"may be hidden in the tone of {reading.tones[hidden].hz:.0f} Hz, or was not excited"
        )
        yield (
            f"{predicted} {why}. Hold the plate at {holds}; "
            f"tap it at {in_mm(places.tap)} ({words.at(places.tap)})."
        )
