"""What a maker asks of ``platewright plan``: wishes and limits, from the command line or from plate.toml."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pydantic import TypeAdapter, ValidationError

from solver.commands.typed_figures import typed_mode
from solver.core.errors import InputError
from solver.core.units import GRAM
from solver.plate.mode_label import key_called
from solver.plate_folder.quantities import Mass
from solver.plate_folder.schema import WantedTable

if TYPE_CHECKING:
    from solver.advice.plan_trials import PlanTrial

TONES = 10
"""Tones that may be wished for by their place: those that a plan computes."""
PASSES = (2, 6)
USUAL_PASSES = 2
MASS_WISH = "mass"
FARTHEST = 2.0
"""A wish this many times above or below what is now was mistyped: no plate is carved to half or twice a tone."""


@dataclass(frozen=True)
class PlanRequest:
    """Wishes and limits as they stand on the command line; what was left out is empty or None.

    ``least`` are thicknesses in mm, with or without a zone, or one file with a map.
    """

    wants: tuple[str, ...] = ()
    keeps: tuple[str, ...] = ()
    least: tuple[str, ...] = ()
    max_removal_mm: float | None = None
    symmetric: bool | None = None
    passes: int | None = None

    @property
    def pass_count(self) -> int:
        """In how many passes to carve."""
        return USUAL_PASSES if self.passes is None else self.passes


def read_request(
    want: list[str] | None,
    keep: list[str] | None,
    least: list[str] | None,
    max_removal_mm: float | None,
    symmetric: bool | None,
    passes: int | None,
) -> PlanRequest:
    """Return what the options ask for; raises InputError for one pass, or more than anybody weighs and taps."""
    if passes is not None and not PASSES[0] <= passes <= PASSES[1]:
        raise InputError(
            f"--passes: {passes}; expected {PASSES[0]} to {PASSES[1]}, because a plan is a prediction and wants a "
            "measurement on the way. Choose a number in between."
        )
    return PlanRequest(
        tuple(want or ()), tuple(keep or ()), tuple(least or ()), max_removal_mm, symmetric, passes
    )


def read_wishes(request: PlanRequest, table: WantedTable | None) -> dict[str, float]:
    """Return the wished frequencies [Hz] by modes and the mass [kg], those of plate.toml where none are asked for.

    Raises
    ------
    InputError
        If a wish cannot be understood, one figure is wished twice, or there are none at all.
    """
    wishes: dict[str, float] = {}
    for text in request.wants:
        name, value = _read_wish(text)
        if name in wishes:
            raise InputError(
                f"--want: {name} is wished for twice; expected one figure for each. Take one out."
            )
        wishes[name] = value
    if not wishes and table is not None:
        wishes = dict(table.modes_hz)
    if not wishes:
        raise InputError(
            "the plan: nothing is wished for; expected tones or a mass. "
            "Write for instance --want 5=346 --want mass=68, or modes_hz under [wanted] in plate.toml."
        )
    return wishes


def _read_wish(text: str) -> tuple[str, float]:
    """Return name and figure of ``5=346`` or ``mass=68``, the mass in kg."""
    name, _, figure = text.partition("=")
    if name.strip().lower() == MASS_WISH:
        try:
            number = float(figure.strip().removesuffix("g"))
            return MASS_WISH, TypeAdapter(Mass).validate_python(number) * GRAM
        except ValidationError as error:
            raise InputError(f"--want: '{text}'; {error.errors()[0]['msg']}") from None
        except ValueError:
            raise InputError(
                f"--want: '{text}'; expected a mass in g. Write for instance --want mass=68."
            ) from None
    return wished_tone(text)


def wished_tone(text: str) -> tuple[str, float]:
    """Return key and frequency [Hz] of ``5=346`` or of ``6th tone=370``, which is known by "#6"."""
    name, _, figure = text.partition("=")
    key = tone_asked("--want", name)
    return (
        (key, typed_mode("--want", f"1={figure}")[1]) if key.startswith("#") else typed_mode("--want", text)
    )


def tone_asked(option: str, text: str) -> str:
    """Return the key of ``6th tone``, "#6"; any other text as it is. Raises InputError for a place too high."""
    found = re.fullmatch(r"\s*(\d+)\s*(?:st|nd|rd|th)\s+tone\s*", text, re.IGNORECASE)
    if found is None:
        return text.strip()
    if not 1 <= int(found[1]) <= TONES:
        raise InputError(
            f"{option}: '{text.strip()}'; expected a tone from the 1st to the {TONES}th. Write its place by pitch."
        )
    return f"#{found[1]}"


def _check_in_reach(name: str, wanted: float, now: float) -> None:
    """Refuse a wish that no carving reaches, because a digit or the decimal point slipped."""
    if now / FARTHEST <= wanted <= now * FARTHEST:
        return
    words, unit, per = ("mass", "g", GRAM) if name == MASS_WISH else (key_called(name), "Hz", 1.0)
    raise InputError(
        f"--want: {words} is wished at {wanted / per:g} {unit} and is {now / per:.1f} {unit} now; expected "
        f"{now / FARTHEST / per:.0f} to {now * FARTHEST / per:.0f}. Check the digits and the decimal point."
    )


def with_kept(wishes: dict[str, float], keeps: Sequence[str], now: "PlanTrial") -> dict[str, float]:
    """Return the wishes and those of figures to be kept as they are, by the keys of their tones.

    Raises
    ------
    InputError
        If a mode is not among the plate's tones, one is to be kept and changed, or a wish is twice or half of what is now.
    """
    found = [name for name in now.modes.names if name]
    for option, names in (("--want", [*wishes]), ("--keep", [*keeps])):
        for name in names:
            if name not in (*found, MASS_WISH):
                raise InputError(
                    f"{option}: no tone of this plate has the shape of mode {name}; expected one that was found: "
                    f"{', '.join(key for key in found if key[0] != '#') or 'none'}, or a tone by its place, as in "
                    '"6th tone=370". See them with: platewright modes'
                )
    for name in keeps:
        if name in wishes:
            raise InputError(f"--keep: {name} is wished for too; expected one of the two. Take one out.")
    for name, value in wishes.items():
        _check_in_reach(name, value, now.figure(name))
    return wishes | {name: now.figure(name) for name in keeps}
