"""How tones are told that share the pattern of one of the trade's numbers."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from solver.plate.mode_label import ordinal

if TYPE_CHECKING:
    from solver.modal.labels import SharedPattern
    from solver.modal.modes import Modes

_PATTERNS = {"1": "the twist of mode 1", "5": "the ring of mode 5"}


def mode_cell(modes: "Modes", index: int) -> str:
    """Return the number of a tone, and where tones share a pattern also whose part it has: "5 (60 %)"."""
    parts = [
        f"{pattern.name} ({100 * pattern.parts[pattern.places.index(index)]:.0f} %)"
        for pattern in modes.mixed
        if index in pattern.places
    ]
    alone = modes.names[index]
    own = [alone] if alone and not any(part.split()[0] == alone for part in parts) else []
    return ", ".join([*own, *parts]) or "-"


def mixed_words(modes: "Modes") -> Iterator[str]:
    """Say which tones share a pattern."""
    for pattern in modes.mixed:
        yield f"{shared_words(pattern)}: a bar, holes or uneven wood have mixed their shapes."


def shared_words(pattern: "SharedPattern") -> str:
    """Return for instance "The 5th and 6th tones share the ring of mode 5, 60 : 40"."""
    order = sorted(range(len(pattern.places)), key=lambda i: pattern.places[i])
    *first, last = [ordinal(pattern.places[i] + 1) for i in order]
    parts = " : ".join(f"{100 * pattern.parts[i]:.0f}" for i in order)
    shape = _PATTERNS.get(pattern.name, f"the shape of mode {pattern.name}")
    return f"The {', '.join(first)} and {last} tones share {shape}, {parts}"
