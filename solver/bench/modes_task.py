"""Modes: the tones of the plate, their node lines, where to hold and tap, and the shapes to be moved on the page."""

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import in_thread
from solver.bench.drawn_told import AllKeptLines, Shapes
from solver.bench.plates import OpenPlate
from solver.bench.state import plate_of
from solver.bench.told import Answer
from solver.core.errors import InputError

if TYPE_CHECKING:
    from solver.bench.shown_tones import ShownTones

NOT_YET = "The tones of this plate are not computed yet; wait until they are, or read the plate again."


async def _modes(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: _tones(plate))


def _tones(plate: OpenPlate) -> Answer:
    from solver.bench.picture import in_mm
    from solver.commands.tones import tones_as_json
    from solver.modal.node_lines import node_lines
    from solver.viewer.captions import mode_name
    from solver.viewer.tone_words import mixed_words

    read, tones = plate.read(), _solved(plate)
    modes = tones.modes
    return {
        **tones_as_json(read.plate, modes, (), tones.forecast),
        "called": [mode_name(modes, index) for index in range(len(modes.hz))],
        "mixed": [*mixed_words(modes)],
        "lines_mm": [[in_mm(line) for line in node_lines(modes, index)] for index in range(len(modes.hz))],
    }


async def _shapes(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: _bodies(plate))


def _bodies(plate: OpenPlate) -> Shapes:
    from solver.bench.shapes import shapes_as_json

    return shapes_as_json(_solved(plate).modes)


async def _seen(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: _kept_lines(plate))


def _kept_lines(plate: OpenPlate) -> AllKeptLines:
    """The lines seen on photos that are kept with the plate, beside those of its tones."""
    from math import sqrt

    from solver.bench.kept_lines import kept_lines_as_json

    modes, outline = _solved(plate).modes, plate.read().plate.outline
    return {"kept": kept_lines_as_json(plate.folder, modes, sqrt(outline.area))}


def _solved(plate: OpenPlate) -> "ShownTones":
    if plate.solved.tones is None:
        raise InputError(NOT_YET)
    return plate.solved.tones


ROUTES = (
    Route("/api/plates/{plate}/modes", _modes),
    Route("/api/plates/{plate}/modes/seen", _seen),
    Route("/api/plates/{plate}/shapes", _shapes),
)
