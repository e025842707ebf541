"""The plate as the page draws it in plan: edges, bar, readings, and thickness on a grid."""

from dataclasses import dataclass
from math import isnan

import numpy as np

from solver.advice.mirror_image import sides_are_alike
from solver.bench.drawn_told import Drawn, Line, Picture, Wanted
from solver.bench.told import Microns
from solver.commands.plan_limits import usual_removal_mm
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.plate.mass import survey_cells
from solver.plate.plate import Plate
from solver.plate_folder.description import Description
from solver.viewer.captions import end_names, side_names
from solver.viewer.colours import MOTION, REMOVAL, THICKNESS
from solver.viewer.plan_view import PlanGrid, plan_grid

LINES = 180
"""Steps of the grid along the plate: 2 mm on a violin."""

NOWHERE = -1
"""Stands for the grid's points off the plate."""

CARD_LINES = 60
"""Steps of the grid along the plate for the small picture on its card."""

_EDGE_STEP = 1.0 * MM
_CARD_EDGE_STEP = 3.0 * MM
MICRON = 1e-6


@dataclass(frozen=True, eq=False)
class Drawing:
    """What the page's picture rests on, found once for all who ask: the grid, and the thickness (n,) [m] at its points near
    the wood, nan elsewhere; the usual deepest cut of a plan; ``alike`` if there is no bar and both sides are the same."""

    grid: PlanGrid
    thickness: Floats
    deepest_mm: float
    alike: bool


def draw(plate: Plate, lines: int = LINES) -> Drawing:
    """Return the grid of a plate, its thickness there, and what a plan of it begins with."""
    grid = plan_grid(plate.outline, lines)
    thickness = grid.field(plate.graduation.at(grid.points)).ravel()
    # not again for each who asks: shapely lets no two threads prepare the same outline, and the bench would end
    alike = sides_are_alike(plate, survey_cells(plate.outline))
    return Drawing(grid, thickness, usual_removal_mm(plate), alike)


def in_microns(values: Floats) -> Microns:
    """Return lengths (n,) [m] as whole micrometres, ``NOWHERE`` where there are none."""
    return [NOWHERE if isnan(value) else round(value / MICRON) for value in values.tolist()]


def in_mm(points: Floats) -> Line:
    """Return plan points (n, 2) [m] in mm, to a hundredth."""
    return [[round(x / MM, 2), round(y / MM, 2)] for x, y in points.tolist()]


def picture_as_json(plate: Plate, drawing: Drawing, description: Description) -> Picture:
    """Return what the page needs to draw the plate: lengths in mm, thickness in micrometres row by row along the plate."""
    grid = drawing.grid
    guess = plate.graduation.is_guess(grid.points) & grid.inside.ravel()
    return {
        **_drawn(plate, drawing, _EDGE_STEP),
        "title": plate.title,
        "role": plate.role,
        "ends": [*end_names(plate.role)],
        "sides": [*side_names(plate.role)],
        "bar_mm": None if plate.bar is None else in_mm(plate.bar.footprint),
        "readings_mm": np.round(plate.graduation.readings / MM, 3).tolist(),
        "guess": "".join("1" if here else "0" for here in guess),
        "alike": drawing.alike,
        **_wishes(description),
    }


def card_as_json(plate: Plate) -> Drawn:
    """Return what the page needs for a small picture of the plate."""
    return _drawn(plate, draw(plate, CARD_LINES), _CARD_EDGE_STEP)


def _drawn(plate: Plate, drawing: Drawing, edge_step: float) -> Drawn:
    """Return the edges, the thickness on a grid, and what its colours go by."""
    grid = drawing.grid
    return {
        "bounds_mm": [round(value / MM, 2) for value in plate.outline.bounds],
        "edge_mm": in_mm(plate.outline.edge.sampled(edge_step)),
        "holes_mm": [in_mm(hole.sampled(edge_step)) for hole in plate.outline.holes],
        "grid": {
            "x0_mm": round(float(grid.x[0]) / MM, 4),
            "y0_mm": round(float(grid.y[0]) / MM, 4),
            "step_mm": round(float(grid.x[1] - grid.x[0]) / MM, 6),
            "rows": len(grid.x),
            "columns": len(grid.y),
            "thickness_um": in_microns(drawing.thickness),
        },
        "colours": {"thickness": [*THICKNESS], "change": [*MOTION], "taken": [*REMOVAL]},
        "deepest_mm": drawing.deepest_mm,
    }


def _wishes(description: Description) -> Wanted:
    """Return what is wanted of the plate and what was measured last."""
    wanted = description.table.wanted
    last = next((entry for entry in reversed([*description.log.values()]) if entry.modes_hz), None)
    return {
        "wanted_hz": dict(wanted.modes_hz) if wanted else {},
        "least_mm": wanted.min_thickness_mm if wanted else None,
        "measured_hz": dict(last.modes_hz) if last else {},
        "measured": None if last is None else f"{last.taken:%Y-%m-%d}",
    }
