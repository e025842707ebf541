"""Seen lines kept with a plate, held against the tones as they are now."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from solver.advice.pattern_match import ALIKE, ModeScore, pattern_scores
from solver.bench.picture import in_mm
from solver.commands.tones import Json
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM
from solver.measured.seen_lines import read_seen_lines
from solver.modal.modes import Modes

HOME = "photos"


def kept_lines_as_json(folder: Path, modes: Modes, size: float) -> list[Json]:
    """Return what every file of seen lines under ``photos/`` shows beside the computed lines, by name.

    ``size`` [m] is the square root of the plate's area. For each tone: the distance [mm] within which half of the seen and
    computed lines lie of each other, and nine tenths, None where one of them has no lines; ``likest`` is the place of the
    tone that fits best, None where none is alike. A file that cannot be understood has its sentence.
    """
    return [_told(path, modes, size) for path in sorted((folder / HOME).glob("*.csv"))]


def _told(path: Path, modes: Modes, size: float) -> dict[str, Json]:
    try:
        lines = read_seen_lines(path)
    except InputError as error:
        return {"name": path.name, "refused": str(error)}
    return {"name": path.name, "lines_mm": [in_mm(line) for line in lines], **_fits(lines, modes, size)}


def _fits(lines: Sequence[Floats], modes: Modes, size: float) -> dict[str, Json]:
    scores = pattern_scores(modes, lines, size)
    best = max(scores, key=lambda score: score.score)
    return {
        "likest": best.index if best.score >= ALIKE else None,
        "gaps": [_gap(score) for score in scores],
    }


def _gap(score: ModeScore) -> dict[str, Json]:
    within = {"half_mm": score.pair.median, "most_mm": score.pair.nine_tenths}
    return {name: round(far / MM, 1) if np.isfinite(far) else None for name, far in within.items()}
