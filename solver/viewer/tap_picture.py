"""The spectrum of the taps with the tones that were found, named."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from solver.advice.tap_reading import TapReading
from solver.core.arrays import Floats
from solver.measured.mains import is_mains
from solver.measured.spectrum import Spectrum
from solver.measured.tap_tones import TapTones
from solver.viewer.colours import INK, INWARD, OUTWARD, PAPER, QUIET_INK
from solver.viewer.page_files import save_pages

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SIZE = (11.0, 5.8)
_LOWEST_DB, _HIGHEST_DB = -70.0, 4.0
_LEAST_RANGE_HZ, _LOWEST_HZ, _MOST_HZ = 500.0, 40.0, 1500.0
_APART = 0.0175
"""Share of the width that a label takes, written upright."""


@dataclass(frozen=True)
class _Mark:
    """A tone on the picture: where, its label, its colour, and whether it is the plate's."""

    hz: float
    words: str
    colour: str
    bold: bool = False


def draw_taps(
    spectrum: Spectrum, heard: TapTones, reading: TapReading | None, path: Path
) -> tuple[Path, ...]:
    """Write the picture; raises InputError if its name ends in none of .png, .svg and .pdf, or nothing can be written."""
    return save_pages([tap_figure(spectrum, heard, reading)], path)


def tap_figure(spectrum: Spectrum, heard: TapTones, reading: TapReading | None = None) -> "Figure":
    """Return the spectrum of the taps over that of the room, each tone with its name; below, what did not sound."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=_SIZE, facecolor=PAPER)
    axes = figure.add_axes((0.065, 0.095, 0.915, 0.585))
    highest = max((tone.hz for tone in heard.tones), default=0.0)
    axes.set_xlim(_LOWEST_HZ, min(max(1.15 * highest, _LEAST_RANGE_HZ), _MOST_HZ))
    axes.set_ylim(_LOWEST_DB, _HIGHEST_DB)
    if len(spectrum.room_db):
        axes.fill_between(spectrum.hz, _LOWEST_DB, spectrum.room_db, color="#d9d4cd", linewidth=0, zorder=1)
    axes.plot(spectrum.hz, spectrum.taps_db, color=INK, linewidth=1.1, zorder=3)
    _write_marks(axes, spectrum, [*_tone_marks(heard, reading), *_steady_marks(heard)])
    if reading is not None:
        _mark_silent(axes, reading)
    _dress(axes)
    _write_heading(figure, heard, reading, bool(len(spectrum.room_db)))
    return figure


def _tone_marks(heard: TapTones, reading: TapReading | None) -> list[_Mark]:
    marks = []
    for place, tone in enumerate(heard.tones):
        mode = None if reading is None else reading.mode(place)
        if reading is None or mode is None:
            marks.append(_Mark(tone.hz, f"{tone.hz:.1f}", OUTWARD))
            continue
        name = reading.modes.names[mode]
        doubt = "" if reading.is_sure(place) else "?"
        called = f"mode {name}{doubt}  " if name else f"({mode + 1}){doubt}  "
        marks.append(_Mark(tone.hz, f"{called}{tone.hz:.1f}", OUTWARD, bool(name) and not doubt))
    return marks


def _steady_marks(heard: TapTones) -> list[_Mark]:
    return [
        _Mark(hz, f"{'hum' if is_mains(hz, heard.steady_hz) else 'room'} {hz:.0f}", QUIET_INK)
        for hz in heard.steady_hz
    ]


def _write_marks(axes: "Axes", spectrum: Spectrum, marks: Sequence[_Mark]) -> None:
    """Write the labels upright over the frame, pushed apart where they would meet, each with a line to its place."""
    low, high = axes.get_xlim()
    shown = sorted((mark for mark in marks if low <= mark.hz <= high), key=lambda mark: mark.hz)
    places = _pushed_apart(np.array([(mark.hz - low) / (high - low) for mark in shown]))
    across = axes.get_xaxis_transform()
    for mark, place in zip(shown, places, strict=True):
        top = float(np.interp(mark.hz, spectrum.hz, spectrum.taps_db))
        foot = (max(top, _LOWEST_DB) + 1 - _LOWEST_DB) / (_HIGHEST_DB - _LOWEST_DB)
        at = low + place * (high - low)
        line = "-" if mark.colour == OUTWARD else ":"
        axes.plot(
            [mark.hz, mark.hz, at],
            [foot, 1.0, 1.045],
            line,
            color=mark.colour,
            linewidth=0.8,
            clip_on=False,
            transform=across,
            zorder=2,
        )
        axes.text(
            at,
            1.055,
            mark.words,
            rotation=90,
            ha="center",
            va="bottom",
            fontsize=8,
            color=mark.colour,
            fontweight="bold" if mark.bold else "normal",
            transform=across,
        )


def _pushed_apart(wanted: Floats) -> Floats:
    """Return the places (n,) nearest to those wanted, rising, that keep their distance.

    With the distance taken out, rising places are an isotonic regression, whose solution pools neighbours that would meet.
    """
    from scipy.optimize import isotonic_regression

    if not len(wanted):
        return wanted
    steps = _APART * np.arange(len(wanted))
    return np.asarray(isotonic_regression(wanted - steps).x + steps)


def _mark_silent(axes: "Axes", reading: TapReading) -> None:
    """Mark along the foot where modes were predicted that did not sound."""
    across = axes.get_xaxis_transform()
    low, high = axes.get_xlim()
    for mode in reading.silent:
        hz = float(reading.modes.hz[mode])
        if low <= hz <= high:
            axes.plot(
                [hz], [0.02], "^", color=INWARD, markersize=7, transform=across, zorder=5, markeredgecolor=INK
            )
            name = reading.modes.names[mode]
            axes.text(
                hz,
                0.05,
                f"{name or f'({mode + 1})'} silent",
                fontsize=8,
                color=INK,
                ha="center",
                transform=across,
            )


def _dress(axes: "Axes") -> None:
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines[["left", "bottom"]].set_color(QUIET_INK)
    axes.tick_params(color=QUIET_INK, labelcolor=INK, labelsize=8.5)
    axes.grid(visible=True, axis="y", color="#e4dfd8", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.set_xlabel("Hz", fontsize=9.5, color=INK)
    axes.set_ylabel("dB under the highest", fontsize=9.5, color=INK)


def _write_heading(figure: "Figure", heard: TapTones, reading: TapReading | None, has_room: bool) -> None:
    taps = f"{heard.taps} taps" if heard.taps > 1 else "one tap"
    figure.text(0.02, 0.975, f"Tones of {taps}", fontsize=13, fontweight="bold", color=INK, va="top")
    marks = ["line: mean of the taps"]
    if has_room:
        marks.append("grey: the room before")
    marks.append("blue: tones of the plate")
    if heard.steady_hz:
        marks.append("dotted: not the plate's")
    if reading is not None:
        marks.append("(6): the 6th tone, which has no number")
    if reading is not None and reading.silent:
        marks.append("triangle: predicted, did not sound")
    figure.text(0.02, 0.93, "; ".join(marks), fontsize=8.5, color=QUIET_INK, va="top")
