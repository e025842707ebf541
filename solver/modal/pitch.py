"""Frequencies as a musician names them."""

import math

from solver.core.errors import InputError

NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
A4_HZ = 440.0
INTERVALS = (
    "the same",
    "a semitone",
    "a tone",
    "a minor third",
    "a major third",
    "a fourth",
    "a tritone",
    "a fifth",
    "a minor sixth",
    "a major sixth",
    "a minor seventh",
    "a major seventh",
    "an octave",
)
"""What a musician calls intervals of 0 to 12 semitones."""

CLEAN_CENTS = 10.0
"""An interval as near as this to a whole number of semitones is called by its name: no ear holds a tap tone to it."""


def pitch(hz: float) -> tuple[str, float]:
    """Return the nearest note in equal temperament, and by how many cents the tone lies above it.

    ``semitones above C0 = 57 + 12 log2(hz / 440)``; the cents are within -50 to 50: 93.4 Hz is F#2 +17.
    Raises InputError where there is no tone, at zero or below.
    """
    if not (hz > 0 and math.isfinite(hz)):
        raise InputError(f"a tone of {hz:g} Hz has no name; expected more than 0 Hz")
    above_c0 = 57 + 12 * math.log2(hz / A4_HZ)
    nearest = round(above_c0)
    return f"{NAMES[nearest % 12]}{nearest // 12}", 100 * (above_c0 - nearest)


def cents_between(lower: float, upper: float) -> float:
    """Return by how many cents the tone ``upper`` [Hz] lies above ``lower``: ``1200 log2(upper / lower)``."""
    return 1200 * math.log2(upper / lower)


def interval_in_words(cents: float) -> str:
    """Return an interval as one says it of the second of two tones: "a semitone above", "32 cents below".

    104 cents are a semitone, -146 a semitone and 46 cents below.
    """
    size, side = abs(cents), "above" if cents > 0 else "below"
    nearest, whole = round(size / 100), int(size / 100)
    if nearest < len(INTERVALS) and abs(size - 100 * nearest) <= CLEAN_CENTS:
        return f"{INTERVALS[nearest]} {side}" if nearest else INTERVALS[0]
    if whole == 0:
        return f"{size:.0f} cents {side}"
    if whole >= len(INTERVALS) - 1:
        return f"more than an octave {side}"
    return f"{INTERVALS[whole]} and {size - 100 * whole:.0f} cents {side}"
