"""Seen lines kept with a plate, held against the tones as they are now."""

from pathlib import Path

import numpy as np

from solver.advice.pattern_match import ALIKE, ModeScore, pattern_scores
from solver.bench.drawn_told import KeptGap, KeptLines
from solver.bench.picture import in_mm
from solver.core.errors import InputError
from solver.core.units import MM
from solver.measured.seen_lines import read_seen_lines
from solver.modal.modes import Modes

HOME = "photos"


def kept_lines_as_json(folder: Path, modes: Modes, size: float) -> list[KeptLines]:
    """Return what every file of seen lines under ``photos/`` shows beside the computed lines, by name.

    ``size`` [m] is the square root of the plate's area. For each tone: the distance [mm] within which half of the seen and
    computed lines lie of each other, and nine tenths, None where one of them has no lines; ``likest`` is the place of the
    tone that fits best, None where none is alike. A file that cannot be understood has its sentence.
    """
    return [_told(path, modes, size) for path in sorted((folder / HOME).glob("*.csv"))]


def _told(path: Path, modes: Modes, size: float) -> KeptLines:
    try:
        lines = read_seen_lines(path)
    except InputError as error:
        return {"name": path.name, "refused": str(error)}
    scores = pattern_scores(modes, lines, size)
    best = max(scores, key=lambda score: score.score)
    return {
        "name": path.name,
        "lines_mm": [in_mm(line) for line in lines],
        "likest": best.index if best.score >= ALIKE else None,
        "gaps": [_gap(score) for score in scores],
    }


def _gap(score: ModeScore) -> KeptGap:
    return {"half_mm": _known_mm(score.pair.median), "most_mm": _known_mm(score.pair.nine_tenths)}


def _known_mm(far: float) -> float | None:
    return round(far / MM, 1) if np.isfinite(far) else None
