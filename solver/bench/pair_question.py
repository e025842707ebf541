"""What the page asks of a pair: relations by their fields, in the terms of ``platewright pair``."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from solver.bench.answers import Question
from solver.bench.typed_text import Short, with_point
from solver.commands.pair_request import INTERVAL_WORDS, cents_of, once_for_each_mode, relation_between
from solver.core.errors import InputError

if TYPE_CHECKING:
    from solver.advice.plate_pair import Relation

WORDS_OFFERED = tuple(word.replace("-", " ") for word in [*INTERVAL_WORDS][:5])
"""Intervals that top and back are likely to stand in (common practice, no source); all others are understood too."""


class TypedRelation(Question):
    """A mode, and by how much the back lies above the top: from ``low`` to ``high``, which is empty for exactly ``low``."""

    mode: Short
    low: Short
    high: Short


def typed_relations(typed: Sequence[TypedRelation]) -> "tuple[Relation, ...]":
    """Return the relations of the lines that are filled in; raises InputError for what is none."""
    filled = [one for one in typed if one.mode or one.low.strip() or one.high.strip()]
    return once_for_each_mode(tuple(_relation(one) for one in filled))


def _relation(one: TypedRelation) -> "Relation":
    low, high = one.low.strip(), one.high.strip()
    if not one.mode:
        raise InputError(
            f"Relation from '{low or high}': it has no mode; expected one. Choose which mode is meant."
        )
    where = f"Relation of mode {one.mode}"
    if not low:
        raise InputError(
            f"{where}: it has no beginning; expected an interval in words or cents. Write it after from."
        )
    least, most = _cents(low, where), _cents(high or low, where)
    return relation_between(one.mode, least, most, f"{where}: from '{low}' to '{high or low}'")


def _cents(text: str, where: str) -> float:
    cents = cents_of(with_point(text))
    if cents is None:
        raise InputError(
            f"{where}: '{text}' is no interval; expected {', '.join(WORDS_OFFERED[:3])} ... or cents. "
            "Write for instance semitone, or 80."
        )
    return cents
