"""What was measured: tones from recordings of taps, powder lines from a photo."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from platewright.plates import Plate
from platewright.shown import as_html
from solver.advice.pattern_reading import PatternReading as FoundPattern
from solver.advice.plate_patterns import plate_patterns
from solver.commands.pattern import pattern_reading
from solver.commands.pattern_answer import pattern_as_tables
from solver.commands.pattern_request import PatternRequest, checked_hz
from solver.commands.tap_answer import tap_as_table
from solver.core.arrays import Floats
from solver.measured.read_apart import photo_apart, recordings_apart
from solver.measured.tap_tones import TapTones as FoundTones
from solver.measured.tap_tones import hear_tones


@dataclass(frozen=True, eq=False)
class TapTones:
    """What taps tell: the tones that they have in common, from low to high."""

    found: FoundTones

    @property
    def hz(self) -> Floats:
        """The tones (k,) [Hz]."""
        return np.array([tone.hz for tone in self.found.tones])

    def _repr_html_(self) -> str:
        return as_html(tap_as_table(self.found, None, None))


def hear(*recordings: str | Path) -> TapTones:
    """Return the tones of recordings in which a plate is tapped again and again.

    Raises InputError if a file is no recording, or has no tap that can be used.
    """
    with recordings_apart([Path(recording) for recording in recordings]) as finished:
        return TapTones(hear_tones(finished()))


@dataclass(frozen=True, eq=False)
class PatternReading:
    """What a powder pattern on a photo shows of a plate."""

    found: FoundPattern

    def _repr_html_(self) -> str:
        return as_html(pattern_as_tables(self.found))


def read_powder(plate: Plate, photo: str | Path, *, hz: float | None = None) -> PatternReading:
    """Return which mode a powder pattern shows, and where its lines part from the computed ones; nothing is written.

    ``hz`` is what the loudspeaker played. Raises InputError if there is no plate or pattern on the photo.
    """
    path = Path(photo)
    asked = PatternRequest(
        plate.source.description.folder, path, checked_hz(hz), None, None, (), None, None, as_json=False
    )
    found = pattern_reading(plate, asked, photo_apart(path), lambda: plate_patterns(plate), lambda _: None)
    return PatternReading(found)
