"""Figures typed behind an option: a number with or without its unit, or the sentence on what is wrong with it."""

import re
from datetime import datetime
from unicodedata import category

from pydantic import TypeAdapter, ValidationError

from solver.core.errors import InputError
from solver.plate_folder.quantities import Frequency, Humidity, Mass, Temperature
from solver.plate_folder.schema import ModesHz, Taken

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)"

_KINDS: dict[str, tuple[str, str, TypeAdapter[float]]] = {
    "--mass": ("g", "71.4", TypeAdapter(Mass)),
    "--tone": ("Hz", "224", TypeAdapter(Frequency)),
    "--temperature": ("C", "20", TypeAdapter(Temperature)),
    "--humidity": ("%", "50", TypeAdapter(Humidity)),
}
_NOON = "T12:00"
_LONGEST = {"--stage": 200, "--note": 5000}


def typed_number(option: str, text: str) -> float:
    """Return the mass [g], tone [Hz], temperature [°C] or humidity [%] typed behind an option.

    Raises
    ------
    InputError
        If it is no number, is in another unit, or cannot be.
    """
    unit, example, kind = _KINDS[option]
    found = re.fullmatch(rf"\s*({NUMBER})\s*(?:{unit})?\s*", text, re.IGNORECASE)
    if found is None:
        cure = f"Write for instance {option} {example}."
        pointed = text.strip().replace(",", ".")
        if re.fullmatch(rf"{NUMBER}\s*(?:{unit})?", pointed, re.IGNORECASE):
            cure = f"Write a point for the decimal comma, as in {option} {pointed}."
        said = f"'{text}'" if text.strip() else "empty"
        raise InputError(f"{option} is {said}; expected a number in {unit}. {cure}")
    try:
        return kind.validate_python(float(found[1]))
    except ValidationError as error:
        raise InputError(f"{option} is {text.strip()}; {error.errors()[0]['msg']}") from None


def typed_mode(option: str, text: str) -> tuple[str, float]:
    """Return mode and frequency [Hz] of ``5=346``; raises InputError for anything else."""
    found = re.fullmatch(rf"\s*(\S+?)\s*=\s*({NUMBER})\s*(?:Hz)?\s*", text, re.IGNORECASE)
    if found is None:
        pointed = text.strip().replace(",", ".")
        cure = f"Write for instance {option} 5=346."
        if re.fullmatch(rf"\d+\s*=\s*{NUMBER}\s*(?:Hz)?", pointed, re.IGNORECASE):
            cure = f"Write a point for the decimal comma, as in {option} {pointed}."
        raise InputError(f"{option}: '{text}'; expected the number of a mode and its frequency in Hz. {cure}")
    try:
        (mode,) = TypeAdapter(ModesHz).validate_python({found[1]: float(found[2])}).items()
    except ValidationError as error:
        raise InputError(f"{option}: '{text}'; {error.errors()[0]['msg']}") from None
    return mode


def typed_modes(option: str, texts: tuple[str, ...]) -> dict[str, float]:
    """Return the modes of several such texts; raises InputError if one stands there twice."""
    modes: dict[str, float] = {}
    for text in texts:
        name, hz = typed_mode(option, text)
        if name in modes:
            raise InputError(f"{option}: mode {name} is given twice; expected it once. Take one out.")
        modes[name] = hz
    return dict(sorted(modes.items(), key=lambda mode: int(mode[0])))


def typed_date(option: str, text: str) -> datetime:
    """Return the moment typed, in the computer's zone if it names none; of a day alone, its noon."""
    try:
        day = re.fullmatch(r"\s*\d{4}-\d\d-\d\d\s*", text)
        taken = datetime.fromisoformat(text.strip() + (_NOON if day else ""))
        return TypeAdapter(Taken).validate_python(taken).astimezone()
    except ValidationError as error:
        raise InputError(f"{option} is {text}; {error.errors()[0]['msg']}") from None
    except ValueError:
        raise InputError(
            f"{option} is '{text}'; expected a date, with or without the time. "
            f"Write for instance {option} 2026-03-14T19:05."
        ) from None


def typed_words(option: str, text: str) -> str:
    """Return words typed behind an option; raises InputError if they are none, too many, or hold what is no letter."""
    words = text.strip()
    if not words:
        raise InputError(f"{option} is empty; expected some words. Leave it out if there is nothing to say.")
    if len(words) > _LONGEST[option]:
        raise InputError(
            f"{option} has {len(words)} letters; expected at most {_LONGEST[option]}. Say it in fewer words."
        )
    if any(category(letter) in ("Cc", "Cs") and letter not in "\n\t" for letter in words):
        raise InputError(f"{option} holds a sign that no screen shows; expected words. Type it again.")
    return words
