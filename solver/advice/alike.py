"""Which plates are most like a given one, by the figures that both have."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import log, sqrt

SCALES = {"mode": 0.03, "mass": 0.05, "thickness": 0.05, "thinnest": 0.10, "density": 0.05}
"""Differences that a maker would call one step (common practice, no source): half a semitone, a twentieth of mass and mean
thickness and density, a tenth of the thinnest spot."""

CONSTANT = 0.10
"""The same for an elastic constant: boards of one species differ by a fifth."""

SHARED = 0.5
"""Share of the given plate's figures that another must have to be compared with it."""


@dataclass(frozen=True)
class Likeness:
    """How far a plate is from the given one, in steps, and by how many figures."""

    place: int
    steps: float
    figures: int


def scale_of(name: str) -> float:
    """Return the difference of a figure, as a share of it, that counts as one step."""
    return SCALES.get("mode" if name.startswith("mode") else name, CONSTANT)


def likenesses(given: Mapping[str, float], others: list[Mapping[str, float]]) -> list[Likeness]:
    """Return the others by their distance from the given plate, the most alike first.

    ``distance = sqrt(mean over the shared figures of (ln(theirs/ours) / step)^2)``. Who shares too few is left out.
    """
    found = []
    for place, other in enumerate(others):
        shared = [name for name in given if name in other]
        if shared and len(shared) >= SHARED * len(given):
            squares = [(log(other[name] / given[name]) / scale_of(name)) ** 2 for name in shared]
            found.append(Likeness(place, sqrt(sum(squares) / len(shared)), len(shared)))
    return sorted(found, key=lambda likeness: likeness.steps)
