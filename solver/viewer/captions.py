"""The words on the pictures: what a tone is called, and how the plate lies."""

from solver.modal.modes import Modes
from solver.modal.pitch import pitch
from solver.plate.mode_label import called
from solver.plate.plate import Role

MINUS = "\N{MINUS SIGN}"


def mode_name(modes: Modes, index: int) -> str:
    """Return the trade's number, as in "mode 5", or the tone's place by pitch where the trade has none."""
    return called(modes.names[index], index)


def tone_name(hz: float) -> str:
    """Return a frequency as a maker reads it: Hz, note, cents off."""
    note, cents = pitch(hz)
    sign = MINUS if round(cents) < 0 else "+"
    return f"{hz:.1f} Hz   {note} {sign}{abs(round(cents))} cents"


def end_names(role: Role) -> tuple[str, str]:
    """Return the names of the upper and the lower end."""
    return ("upper end", "lower end") if role == "panel" else ("neck end", "tail end")


def side_names(role: Role) -> tuple[str, str]:
    """Return the names of the left and the right side, seen from the outside with the upper end up."""
    return {
        "top": ("bass side", "treble side"),
        "back": ("treble side", "bass side"),
        "panel": ("left", "right"),
    }[role]


def how_seen(role: Role) -> str:
    """Return how the plate lies on every picture in plan."""
    seen = f"seen from the outside, {end_names(role)[0]} up"
    return seen if role == "panel" else f"{seen}, {side_names(role)[0]} on the left"
