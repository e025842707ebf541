"""A powder photo read in a process of its own: its lines beside the computed ones, on the plate laid flat."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from solver.advice.pattern_reading import PatternReading
from solver.advice.plate_patterns import KnownShapes
from solver.bench.brought import called_by_name
from solver.bench.drawn_told import PowderDrawn
from solver.bench.page_words import in_page_words
from solver.bench.picture import in_mm
from solver.bench.told import Answer
from solver.bench.work import Progress
from solver.commands.pattern import pattern_reading
from solver.commands.pattern_answer import pattern_as_json, pattern_in_words
from solver.commands.pattern_request import PatternRequest, checked_hz, checked_side, read_landmarks
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.measured.landmarks import FEWEST, named_places
from solver.measured.photo_file import Photo, as_png
from solver.measured.plate_form import PlateForm
from solver.modal.node_lines import node_lines
from solver.plate.plate import Plate


@dataclass(frozen=True)
class PowderRead:
    """What ``platewright pattern`` answers, the seen lines [m], and the plate laid flat as a PNG with what lies on it."""

    answer: Answer
    lines: tuple[Floats, ...]
    flat: bytes
    drawn: PowderDrawn


@dataclass(frozen=True, eq=False)
class PowderOrder:
    """What is asked of a photo, as of the command, the photo, and the plate, solved."""

    request: PatternRequest
    photo: Photo
    shapes: KnownShapes


def photo_request(
    folder: Path, photo: Path, hz: float | None, seen: str, landmarks: list[str]
) -> PatternRequest:
    """Return what is asked of a photo; raises InputError if it is not as it should be."""
    checked_hz(hz)
    side, places = checked_side(seen or None), read_landmarks(landmarks)
    return PatternRequest(folder, photo, hz, None, side, places, None, None, as_json=True)


def places_to_point_at(form: PlateForm) -> dict[str, Floats]:
    """Return plan points (2,) [m] to be found on a photo, four or more: those with names, else also the widest ones."""
    places = named_places(form)
    if len(places) >= FEWEST:
        return places
    rim = form.outline.edge.sampled(0.5 * MM)
    sides = (rim[rim[:, 1].argmax()], rim[rim[:, 1].argmin()])
    return places | {f"{x / MM:.1f},{y / MM:.1f}": np.round(np.array([x, y]), 4) for x, y in sides}


def read_powder(progress: Progress, order: PowderOrder) -> PowderRead:
    """Return what a photo shows; raises InputError as ``platewright pattern``."""
    request, plate, path = order.request, order.shapes.on.plate, order.request.photo
    said = iter(
        (("Looking for the plate on the photo", 0.0), ("Holding its lines against the computed ones", 0.7))
    )
    with called_by_name(path):
        reading = pattern_reading(
            plate, request, order.photo, order.shapes.patterns, lambda _: progress.say(*next(said))
        )
    progress.say("Drawing", 0.95)
    view = reading.match.view
    return PowderRead(
        pattern_as_json(reading, request, path),
        view.lines,
        _as_png(reading),
        _drawn(reading, plate, order.photo.reduced),
    )


def _as_png(reading: PatternReading) -> bytes:
    """Return the plate laid flat, its neck end up, seen from the outside."""
    return as_png(reading.match.view.flat.colours[::-1, ::-1])


def _drawn(reading: PatternReading, plate: Plate, scale: float) -> PowderDrawn:
    """Return what is drawn over the flat plate [mm], the words, and where the camera sees the places to point at [px]."""
    view, form = reading.match.view, PlateForm(plate.outline, plate.arch, plate.graduation)
    flat, half = view.flat, 0.5 * view.flat.step
    places = places_to_point_at(form)
    pixels = scale * view.camera.pixels(form.side(np.array([*places.values()]), view.inside))
    return {
        "bounds_mm": [
            round(float(value) / MM, 2)
            for value in (flat.x[0] - half, flat.y[0] - half, flat.x[-1] + half, flat.y[-1] + half)
        ],
        "seen_mm": [in_mm(line) for line in view.lines],
        "computed_mm": [
            [in_mm(line) for line in node_lines(reading.modes, score.index)] for score in reading.match.scores
        ],
        "words": [in_page_words(words) for words in pattern_in_words(reading)],
        "places": [
            {"place": name, "pixel": [round(float(value), 1) for value in pixel]}
            for name, pixel in zip(places, pixels, strict=True)
        ],
    }
