"""Which of the steady tones are hum of the mains."""

from collections.abc import Sequence

MAINS_HZ = (50.0, 60.0)
_OFF = 0.004
"""How far [-] the mains may be off; grids keep within a thousandth or two (common practice, no source)."""


def is_mains(hz: float, steady_hz: Sequence[float]) -> bool:
    """Tell whether a steady tone is hum: a multiple of 50 or of 60 Hz, whichever more of the ``steady_hz`` are."""
    base = max(MAINS_HZ, key=lambda mains: sum(_is_multiple(tone, mains) for tone in steady_hz))
    return _is_multiple(hz, base)


def _is_multiple(hz: float, mains: float) -> bool:
    times = round(hz / mains)
    return times >= 1 and abs(hz - times * mains) < max(0.5, _OFF * hz)
