"""What is drawn of the plate at its true size, laid out on paper before any ink flows."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from meshes.outline import Outline
from solver.arrays import Floats
from solver.units import MM
from solver.viewer.captions import MINUS
from solver.viewer.graduation_map import thickness_steps
from solver.viewer.plan_view import PlanGrid, on_paper, plan_grid
from solver.viewer.sheet.content import SheetContent
from solver.viewer.sheet.contours import Band, Contour, bands, contours, cut_lines
from solver.viewer.sheet.labels import Label, number_bands, number_lines
from solver.viewer.sheet.places import Mark, places, words_beside, words_on_bar
from solver.viewer.sheet.tiling import Cross

REMOVAL_STEP = 0.1
"""Removal is shown in steps of this [mm]. A step is named by its lower end, so that it never says too much."""

_EDGE_STEP = 0.5 * MM
_ROUNDING = 1e-3
"""A removal that misses a step by less [mm] is that step."""

_FROM_EDGE = 0.5
"""Numbers keep this far [mm] from the edge."""

_NUMBER = 3.2
"""Letters on contour lines [mm]."""


@dataclass(frozen=True, eq=False)
class Plan:
    """All that is drawn of the plate, in mm on paper.

    ``wood`` is the plate with its holes, ``bar`` the glued strip (4, 2). Lines (p, 2) of thickness are ``measured`` where
    readings lie near and ``guessed`` elsewhere; along ``limit`` the plate is as thin as it may be. ``removal`` holds the
    steps of wood to take off.
    """

    wood: shapely.Polygon
    bar: Floats | None
    measured: tuple[Floats, ...]
    guessed: tuple[Floats, ...]
    limit: tuple[Floats, ...]
    removal: tuple[Band, ...]
    marks: tuple[Mark, ...]
    numbers: tuple[Label, ...]
    removal_numbers: tuple[Label, ...]
    words: tuple[Label, ...]


def wood_on_paper(outline: Outline) -> shapely.Polygon:
    """Return the wood in plan [mm], seen from the inside with the upper end up."""
    rings = [np.column_stack(on_paper(edge.sampled(_EDGE_STEP))) for edge in (outline.edge, *outline.holes)]
    return shapely.Polygon(rings[0], rings[1:])


def lay_out_plan(content: SheetContent, crosses: Sequence[Cross]) -> Plan:
    """Return what to draw of a plate; its words and numbers keep clear of each other, of marks and of crosses."""
    bar, wood = content.plate.bar, wood_on_paper(content.plate.outline)
    grid = plan_grid(content.plate.outline)
    lines, limit = _thickness_lines(content, grid, wood)
    removal, guess = _removal_steps(content, grid, wood), _guess(content, grid, wood)
    marks = list(places(content))
    taken = [cross.footprint for cross in crosses] + [mark.footprint for mark in marks]
    words = list(words_beside(marks, wood, taken))
    taken += [label.footprint for label in words]
    if bar is not None:
        words += words_on_bar(bar, taken)
    strip = None if bar is None else np.column_stack(on_paper(bar.footprint))
    clear = wood.buffer(-_FROM_EDGE).difference(shapely.Polygon(strip))
    removal_numbers = number_bands([(step, f"{MINUS}{step.level:.1f}") for step in removal], taken, clear)
    taken += [label.footprint for label in removal_numbers]
    numbered = [(line.line, f"limit {thickness_text(line.level)}") for line in limit]
    numbered += [(line.line, thickness_text(line.level)) for line in lines]
    drawn = [shapely.LineString(line.line) for line in lines]
    return Plan(
        wood=wood,
        bar=strip,
        measured=tuple(cut_lines(drawn, wood - guess)),
        guessed=tuple(cut_lines(drawn, guess)),
        limit=tuple(line.line for line in limit),
        removal=tuple(removal),
        marks=tuple(marks),
        numbers=tuple(number_lines(numbered, _NUMBER, taken, clear)),
        removal_numbers=tuple(removal_numbers),
        words=tuple(words),
    )


def thickness_text(thickness_mm: float) -> str:
    """Return a thickness as a caliper shows it: tenths, and hundredths where it has them."""
    return (
        f"{thickness_mm:.1f}"
        if abs(thickness_mm - round(thickness_mm, 1)) < _ROUNDING
        else f"{thickness_mm:.2f}"
    )


def _thickness_lines(
    content: SheetContent, grid: PlanGrid, wood: shapely.Polygon
) -> tuple[list[Contour], list[Contour]]:
    """Return the lines of the present thickness at round steps, and the line of the least thickness allowed."""
    thickness = content.plate.graduation.at(grid.points) / MM
    steps = thickness_steps(thickness[grid.inside.ravel()])
    if content.min_thickness is None:
        return contours(grid, thickness, list(steps), wood), []
    least = content.min_thickness / MM
    others = [float(step) for step in steps if abs(step - least) > _ROUNDING]
    return contours(grid, thickness, others, wood), contours(grid, thickness, [least], wood)


def _removal_steps(content: SheetContent, grid: PlanGrid, wood: shapely.Polygon) -> list[Band]:
    if content.removal is None:
        return []
    depth = content.removal.depth(grid.points) / MM
    count = int((depth[grid.inside.ravel()].max() + _ROUNDING) / REMOVAL_STEP)
    levels = [REMOVAL_STEP * (i + 1) - _ROUNDING for i in range(count + 1)]
    return [replace(band, level=round(band.level, 1)) for band in bands(grid, depth, levels, wood)]


def _guess(content: SheetContent, grid: PlanGrid, wood: shapely.Polygon) -> BaseGeometry:
    """Return the part of the wood where no reading lies near."""
    guess = content.plate.graduation.is_guess(grid.points).astype(float)
    found = bands(grid, guess, (0.5, 1.5), wood)
    return found[0].area if found else shapely.Polygon()
