"""The strokes of a drawing as they are read from its file: light, for they come out of a process of their own."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM

Beziers = tuple[Floats, ...]
"""Control points (2 to 4, 2) [m] of straight lines, parabolas and cubics, each from the last one's end."""

JOIN = 0.05 * MM
"""Ends nearer than this are meant to meet: a tenth of the line's own width on a drawing."""

MOST_CURVES = 50_000
"""Lines and curves among which an edge is looked for; a plan of a whole instrument has a tenth of that."""


@dataclass(frozen=True, eq=False)
class Stroke:
    """One continuous line of a drawing: its curves, and the name that it bears in the drawing."""

    beziers: Beziers
    label: str = ""

    @property
    def ends(self) -> Floats:
        """Its first and its last point (2, 2) [m]."""
        return np.array([self.beziers[0][0], self.beziers[-1][-1]])

    @property
    def extent(self) -> float:
        """How far it goes from its start, at most [m]."""
        return max(
            float(np.linalg.norm(bezier - self.beziers[0][0], axis=1).max()) for bezier in self.beziers
        )

    @property
    def is_closed(self) -> bool:
        """Whether it comes back to its start (a mere dot does not)."""
        return float(np.linalg.norm(np.diff(self.ends, axis=0))) <= JOIN < self.extent


def meant(path: Path, strokes: Sequence[Stroke], name: str) -> list[Stroke]:
    """Return the strokes labelled with the edge's name if there are any, else all.

    Raises InputError if they are more than can be joined in good time.
    """
    named = [one for one in strokes if one.label.lower() == name.lower()] or [*strokes]
    if (curves := sum(len(one.beziers) for one in named)) > MOST_CURVES:
        raise InputError(
            f"{path.name}: {curves} lines and curves are drawn in it; expected at most {MOST_CURVES}. {advice(name)}"
        )
    return named


def advice(name: str) -> str:
    """Return what to do where it does not show which line is meant."""
    return f'Mend it, or give the line that is meant the id (SVG) or the layer (DXF) "{name}".'
