"""Frequencies as a musician names them."""

import math

from solver.errors import InputError

NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
A4_HZ = 440.0


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
