"""Slips of the pen and of the unit that explain a figure which cannot be."""

from collections.abc import Iterator

from solver.core.units import OUNCE_G

_MASSES = (("ounces", OUNCE_G), ("kilograms", 1000.0), ("pounds", 453.592), ("milligrams", 0.001))
"""Units in which a mass in grams may have been written, and the grams in each."""


def slip_in_tone(hz: float, low: float, high: float) -> str:
    """Return what to write if a known slip makes a tone [Hz] lie between ``low`` and ``high``; empty if none does."""
    return next(_tone_slips(hz, low, high), "")


def slip_of_point(hz: float, low: float, high: float) -> str:
    """Return what to write if a tone [Hz] written with a decimal point lies in the band without it; else nothing."""
    is_one = "." in f"{hz:g}" and low <= 10 * hz <= high
    return f"If the decimal point slipped, write {10 * hz:g}." if is_one else ""


def _tone_slips(hz: float, low: float, high: float) -> Iterator[str]:
    digits, _, _ = f"{hz:g}".partition(".")
    if slipped := slip_of_point(hz, low, high):
        yield slipped
    places = [place for place in range(len(digits) + 1) if _fills(digits, place, low, high)]
    if places:
        shown = " or ".join(f"{digits[:place]}_{digits[place:]}" for place in reversed(places))
        yield f"If a digit is missing ({shown}), write the whole figure."
    for factor in (10.0, 0.1):
        if low <= factor * hz <= high:
            yield f"If the decimal point slipped, write {factor * hz:g}."
    for place in range(len(digits) - 1):
        other = digits[:place] + digits[place + 1] + digits[place] + digits[place + 2 :]
        if other != digits and low <= float(other) <= high:
            yield f"If two digits changed places, write {other}."
    for factor, where in ((2.0, "below"), (0.5, "above")):
        if low <= factor * hz <= high:
            yield f"If it was heard an octave {where}, write {factor * hz:g}."


def _fills(digits: str, place: int, low: float, high: float) -> bool:
    """Tell whether some digit put in at a place makes a figure between ``low`` and ``high``."""
    figures = (float(digits[:place] + digit + digits[place:]) for digit in "0123456789")
    return any(low <= figure <= high for figure in figures)


def slip_in_mass(grams: float, low: float, high: float) -> str:
    """Return what to write if another unit makes a mass [g] lie between ``low`` and ``high``; empty if none does."""
    for unit, factor in _MASSES:
        if low <= factor * grams <= high:
            return f"If that was {unit}, write {factor * grams:.4g}."
    return ""
