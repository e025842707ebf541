"""What a maker asks of ``platewright pair``: which relations between like modes, in which room, by whose limits."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from solver.core.errors import InputError
from solver.modal.pitch import INTERVALS
from solver.plate_folder.description import Description

if TYPE_CHECKING:
    from solver.advice.plate_pair import Relation
    from solver.plate.climate import Climate

MOST_CENTS = 1200.0
"""An octave: no pair of plates is made farther apart."""

INTERVAL_WORDS = {
    name.split(" ", 1)[1].replace(" ", "-"): 100.0 * semitones for semitones, name in enumerate(INTERVALS)
}
"""Cents of ``same``, ``semitone``, ``tone``, ``minor-third`` and so on."""

_CENTS = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+))\s*(?:c|ct|cents?)?", re.IGNORECASE)


@dataclass(frozen=True)
class PairRequest:
    """Two folders; the relations wanted, if any; the room, None for the top's."""

    top: Path
    back: Path
    relations: "tuple[Relation, ...]"
    to: "Climate | None"
    as_json: bool
    picture: Path | None


def read_relations(texts: Sequence[str]) -> "tuple[Relation, ...]":
    """Return the relations of ``5=+80..+180``, ``2=same``, ``1=semitone``.

    Raises InputError if one cannot be understood, or two speak of the same mode.
    """
    return once_for_each_mode(tuple(_read_relation(text) for text in texts))


def once_for_each_mode(relations: "tuple[Relation, ...]") -> "tuple[Relation, ...]":
    """Return the relations; raises InputError if two speak of the same mode."""
    for place, relation in enumerate(relations):
        if relation.mode in {other.mode for other in relations[:place]}:
            raise InputError(
                f"--relation: mode {relation.mode} is named twice; expected one relation for each mode. Take one out."
            )
    return relations


def _read_relation(text: str) -> "Relation":
    mode, equals, interval = (part.strip() for part in text.partition("="))
    ends = [cents_of(part) for part in interval.split("..")]
    if not re.fullmatch(r"[1-9]\d?", mode) or not equals or len(ends) > 2 or None in ends:
        raise InputError(
            f"--relation: '{text}'; expected a mode and the interval by which the back lies above the top, in words "
            f"({', '.join([*INTERVAL_WORDS][:3])} ...) or cents. Write for instance --relation 5=+80..+180 or "
            "2=same."
        )
    low, high = (cents for cents in (ends[0], ends[-1]) if cents is not None)
    if len(ends) == 2 and low == high:
        raise InputError(f"--relation: '{text}'; expected LOW below HIGH. Write the smaller interval first.")
    return relation_between(mode, low, high, f"--relation: '{text}'")


def relation_between(mode: str, low: float, high: float, where: str) -> "Relation":
    """Return the relation of a mode from ``low`` to ``high`` cents; ``where`` begins the sentence if it is none.

    Raises
    ------
    InputError
        If the ends are exchanged, or an end lies beyond an octave.
    """
    from solver.advice.plate_pair import Relation

    if low > high:
        raise InputError(f"{where}; expected LOW below HIGH. Write the smaller interval first.")
    if max(abs(low), abs(high)) > MOST_CENTS:
        raise InputError(
            f"{where}; expected within an octave, {-MOST_CENTS:g} to {MOST_CENTS:g} cents. "
            "A semitone is 100 cents."
        )
    return Relation(mode, low, high)


def cents_of(text: str) -> float | None:
    """Return the cents of ``semitone`` or ``+50``, None for anything else."""
    word = text.strip().lower().replace(" ", "-")
    if word in INTERVAL_WORDS:
        return INTERVAL_WORDS[word]
    found = _CENTS.fullmatch(text.strip())
    return float(found[1]) if found else None


def check_roles(top: Description, back: Description) -> None:
    """Refuse what is no pair of a top and a back.

    Raises
    ------
    InputError
        If the folders are exchanged, or one is neither.
    """
    roles = top.table.role, back.table.role
    if roles == ("back", "top"):
        raise InputError(
            f"platewright pair: {top.folder} is a back and {back.folder} a top; expected the top first. Exchange them."
        )
    for folder, role, wanted in zip((top.folder, back.folder), roles, ("top", "back"), strict=True):
        if role != wanted:
            raise InputError(
                f'{folder}/plate.toml: role is "{role}"; expected "{wanted}", for a pair is a top and a back. '
                "Name another folder, or correct the role."
            )
