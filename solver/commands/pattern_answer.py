"""What ``platewright pattern`` answers: the table of scores, the differences in words, and the JSON object."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from rich.console import Group
from rich.table import Table
from rich.text import Text

from solver.advice.pattern_match import ModeScore
from solver.advice.pattern_reading import PatternReading
from solver.advice.places_in_words import in_mm
from solver.commands.pattern_request import PatternRequest
from solver.core.units import MM
from solver.plate.reshaped_arch import is_arched
from solver.viewer.captions import mode_name
from solver.viewer.pattern_words import middle_words, parting_words
from solver.viewer.thinning_map import place_words

if TYPE_CHECKING:
    from solver.commands.tones import Json

_SHOWN = 5


def pattern_as_json(reading: PatternReading, request: PatternRequest, lines_file: Path) -> "dict[str, Json]":
    """Return the object that ``--json`` prints: distances and places in mm, tones in Hz."""
    match, difference, hint = reading.match, reading.difference, reading.hint
    return {
        "title": reading.plate.title,
        "role": reading.plate.role,
        "photo": str(request.photo),
        "seen_from": reading.side,
        "powder": "dark" if match.view.dark else "light",
        "best": {
            **_score(reading, match.best),
            "p90_mm": _mm(match.best.pair.nine_tenths),
            "margin": round(match.margin, 3),
        },
        "scores": [_score(reading, score) for score in match.scores],
        "middle_mm": {"seen": _mm(difference.seen_middle), "computed": _mm(difference.computed_middle)},
        "shift_mm": [_mm(value) for value in difference.shift],
        "partings": [
            {"at_mm": [_mm(v) for v in parting.place], "off_mm": [_mm(v) for v in parting.off]}
            for parting in difference.partings
        ],
        "missing_at_mm": [[_mm(v) for v in place] for place in difference.missing],
        "hint": None
        if hint is None
        else {
            "at_mm": [_mm(v) for v in hint.hollow.centre],
            "radius_mm": _mm(hint.hollow.radius),
            "thinner_mm": round(hint.hollow.depth / MM, 2),
            "rms_mm": {"before": _mm(hint.before), "after": _mm(hint.after)},
        },
        "lines_csv": str(lines_file),
        "warnings": [*reading.doubts()],
    }


def _score(reading: PatternReading, score: ModeScore) -> "dict[str, Json]":
    return {
        "order": score.index + 1,
        "mode": reading.modes.names[score.index],
        "hz": round(float(reading.modes.hz[score.index]), 3),
        "median_mm": _mm(score.pair.median),
        "score": round(score.score, 3),
    }


def _mm(value: float) -> float | None:
    """Return a length [m] in mm as exactly as powder lies, None where there is none."""
    return round(float(value) / MM, 1) if np.isfinite(value) else None


def pattern_as_tables(reading: PatternReading) -> Group:
    """Return the modes that fit best, and under them in words how the seen pattern differs."""
    table = Table()
    for head in "Mode", "Computed\nHz", "Score", "Half of the lines\nwithin mm", "Nine tenths\nwithin mm":
        table.add_column(head, justify="left" if head == "Mode" else "right")
    ranked = sorted(reading.match.scores, key=lambda score: (score is not reading.match.best, -score.score))
    for score in ranked[:_SHOWN]:
        table.add_row(*_cells(reading, score))
    lines = [*pattern_in_words(reading), *reading.doubts()]
    return Group(table, *(Text(line) for line in lines))


def _cells(reading: PatternReading, score: ModeScore) -> Iterator[Text]:
    style = "bold" if score is reading.match.best else ""
    pair = score.pair
    yield Text(mode_name(reading.modes, score.index), style)
    yield Text(f"{reading.modes.hz[score.index]:.1f}", style)
    yield Text(f"{score.score:.2f}", style)
    for distance in pair.median, pair.nine_tenths:
        yield Text(f"{distance / MM:.1f}" if np.isfinite(distance) else "-", style)


def pattern_in_words(reading: PatternReading) -> Iterator[str]:
    """Yield what the photo shows, in words."""
    match, difference = reading.match, reading.difference
    words = place_words(reading.plate)
    pair = match.best.pair
    yield (
        f"The pattern is that of {reading.called(match.best.index)}, photographed from the "
        f"{reading.side}, {'dark' if match.view.dark else 'light'} powder: half of the "
        f"lines lie within {pair.median / MM:.1f} mm of the computed ones, nine tenths within "
        f"{pair.nine_tenths / MM:.1f} mm."
    )
    if reading.side_is_read and is_arched(reading.plate):
        other = "outside" if reading.side == "inside" else "inside"
        yield (
            f"If you photographed the {other}, the picture is mirrored, as some telephones keep it: turn it back and read "
            "it again, for on an arch the lines are then read up to two millimetres off."
        )
    yield from middle_words(reading)
    for number, parting in enumerate(difference.partings, start=1):
        where = f"{in_mm(parting.place)} ({words.at(parting.place)})"
        yield f"They part ({number} on the picture) at {where}: {parting_words(parting, reading.plate)}."
    for place in difference.missing:
        yield f"No powder lies along the computed line at {in_mm(place)} ({words.at(place)})."
    if reading.hint is not None:
        hint = reading.hint
        yield (
            f"A hint, not a fact: were the plate {hint.hollow.depth / MM:.2f} mm thinner than its map says about "
            f"{in_mm(hint.hollow.centre)} ({words.at(hint.hollow.centre)}), the computed lines would lie nearer to the "
            f"seen ones: {hint.after / MM:.1f} in place of {hint.before / MM:.1f} mm on average. Measure the thickness "
            "there again before any wood goes."
        )
