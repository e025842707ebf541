"""What is drawn of the plate at its true size, laid out on paper before any ink flows."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from meshes.outline import Outline
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.viewer.captions import MINUS
from solver.viewer.graduation_map import thickness_steps
from solver.viewer.plan_view import PlanGrid, on_paper, plan_grid
from solver.viewer.sheet.content import SheetContent
from solver.viewer.sheet.contours import Band, Contour, bands, contours, cut_lines
from solver.viewer.sheet.labels import Label, number_bands, number_lines
from solver.viewer.sheet.places import Mark, places, words_beside, words_on_bar
from solver.viewer.sheet.tiling import Cross

REMOVAL_STEPS = (0.1, 0.05)
"""Removal is shown in steps of this [mm], the finer only where it nowhere comes to two of the coarser. A step is named
by its lower end, so that it never says too much."""

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
    steps of wood to take off, ``removal_step`` [mm] each.
    """

    wood: shapely.Polygon
    bar: Floats | None
    measured: tuple[Floats, ...]
    guessed: tuple[Floats, ...]
    limit: tuple[Floats, ...]
    removal: tuple[Band, ...]
    removal_step: float
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
    strip = None if bar is None else np.column_stack(on_paper(bar.footprint))
    bare = wood if strip is None else wood.difference(shapely.Polygon(strip))
    removal, guess = _removal_steps(content, grid, bare), _guess(content, grid, wood)
    marks = list(places(content))
    taken = [cross.footprint for cross in crosses] + [mark.footprint for mark in marks]
    words = list(words_beside(marks, wood, taken))
    taken += [label.footprint for label in words]
    if bar is not None:
        words += words_on_bar(bar, taken)
    clear = wood.buffer(-_FROM_EDGE).intersection(bare)
    removal_numbers = number_bands([(band, removal_text(band.level)) for band in removal], taken, clear)
    taken += [label.footprint for label in removal_numbers]
    numbered = [(line.line, _limit_text(content, grid)) for line in limit]
    numbered += [(line.line, thickness_text(line.level)) for line in lines]
    drawn = [shapely.LineString(line.line) for line in lines]
    return Plan(
        wood=wood,
        bar=strip,
        measured=tuple(cut_lines(drawn, wood - guess)),
        guessed=tuple(cut_lines(drawn, guess)),
        limit=tuple(line.line for line in limit),
        removal=tuple(removal),
        removal_step=removal_step(content),
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
    steps = _steps(thickness[grid.inside.ravel()], content.contour_step)
    if content.least is None:
        return contours(grid, thickness, list(steps), wood), []
    least = content.least(grid.points) / MM
    others = [float(step) for step in steps if np.abs(step - least).max() > _ROUNDING]
    return contours(grid, thickness, others, wood), contours(grid, thickness - least, [0.0], wood)


def _limit_text(content: SheetContent, grid: PlanGrid) -> str:
    """Return what is written on the line of the least thickness: the figure, where it is one."""
    assert content.least is not None, "there is a line"
    least = content.least(grid.points) / MM
    return f"limit {thickness_text(least[0])}" if np.ptp(least) < _ROUNDING else "limit"


def removal_step(content: SheetContent) -> float:
    """Return the step [mm] in which the wood to take off is shown."""
    grid = plan_grid(content.plate.outline)
    if content.removal is None:
        return REMOVAL_STEPS[0]
    deepest = content.taken(grid.points)[grid.inside.ravel()].max() / MM + _ROUNDING
    return next((step for step in REMOVAL_STEPS if deepest >= 2 * step), REMOVAL_STEPS[-1])


def removal_text(depth_mm: float) -> str:
    """Return a depth to take off, in tenths or hundredths as it has them."""
    return f"{MINUS}{thickness_text(depth_mm)}"


def _steps(thickness: Floats, step: float | None) -> Floats:
    """Return the thicknesses [mm] at which lines are drawn: multiples of the ``step`` [m], or round ones by need."""
    if step is None:
        return thickness_steps(thickness)
    apart = step / MM
    return apart * np.arange(np.floor(thickness.min() / apart), np.ceil(thickness.max() / apart) + 1)


def _removal_steps(content: SheetContent, grid: PlanGrid, wood: BaseGeometry) -> list[Band]:
    if content.removal is None:
        return []
    depth, step = content.removal.depth(grid.points) / MM, removal_step(content)
    count = int((depth[grid.inside.ravel()].max() + _ROUNDING) / step)
    levels = [step * (i + 1) - _ROUNDING for i in range(count + 1)]
    return [replace(band, level=round(band.level, 2)) for band in bands(grid, depth, levels, wood)]


def _guess(content: SheetContent, grid: PlanGrid, wood: shapely.Polygon) -> BaseGeometry:
    """Return the part of the wood where no reading lies near."""
    guess = content.plate.graduation.is_guess(grid.points).astype(float)
    found = bands(grid, guess, (0.5, 1.5), wood)
    return found[0].area if found else shapely.Polygon()
