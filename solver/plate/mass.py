"""Volume and mass of a plate, from its surface and what a caliper reads."""

import numpy as np
import shapely

from meshes.arch import Arch
from meshes.cells import Cells, cut_into_cells
from meshes.graduation import Graduation
from meshes.outline import Outline
from solver.core.arrays import Floats
from solver.plate.bar import Bar
from solver.plate.plate import Plate

_CELLS_ALONG = 100
"""Side of the square of equal area in cells: they are small against the way in which thickness or arch change."""


def survey_cells(outline: Outline) -> Cells:
    """Return the plate in some ten thousand cells, about 2.3 mm wide on a violin."""
    return cut_into_cells(outline.polygon, float(np.sqrt(outline.area)) / _CELLS_ALONG)


def wood_volume(outline: Outline, arch: Arch, graduation: Graduation) -> float:
    """Return the volume [m3] of the plate without its bar."""
    cells = survey_cells(outline)
    below = _volume_above(arch, cells.points, graduation.at(cells.points))
    return float(cells.areas @ below)


def bar_volume(bar: Bar, arch: Arch, graduation: Graduation) -> float:
    """Return the volume [m3] of the bar, which begins where the plate's thickness ends."""
    cells = cut_into_cells(shapely.Polygon(bar.footprint), bar.width / 4)
    inside = graduation.at(cells.points)
    bottom = inside + bar.height_at(cells.points)
    both = _volume_above(arch, cells.points, bottom) - _volume_above(arch, cells.points, inside)
    return float(cells.areas @ both)


def bar_mass(plate: Plate) -> float:
    """Return the mass [kg] of the bar, zero where there is none."""
    return plate.bar.wood.density * bar_volume(plate.bar, plate.arch, plate.graduation) if plate.bar else 0.0


def plate_mass(plate: Plate) -> float:
    """Return what the plate weighs [kg], with its bar."""
    return plate.wood.density * wood_volume(plate.outline, plate.arch, plate.graduation) + bar_mass(plate)


def _volume_above(arch: Arch, points: Floats, depth: Floats) -> Floats:
    """Return the wood (n,) [m] per area of plan, from the outer surface to a depth (n,) [m] along its normal.

    ``J (depth + H depth^2 + K depth^3 / 3)``: a layer at depth s has ``1 + 2 H s + K s^2`` times the area of
    the outer surface, whose own is ``J = sqrt(1 + |grad z|^2)`` times that of the plan. H and K are the mean
    and the Gaussian curvature with respect to the outward normal (H < 0 on a dome). Exact also where the
    depth varies (parallel surfaces: Steiner's formula, in any text on differential geometry).
    """
    surface = arch.at(points)
    zx, zy = surface.gradient[:, 0], surface.gradient[:, 1]
    zxx, zxy, zyy = surface.hessian[:, 0, 0], surface.hessian[:, 0, 1], surface.hessian[:, 1, 1]
    J = np.sqrt(1 + zx**2 + zy**2)
    H = ((1 + zy**2) * zxx - 2 * zx * zy * zxy + (1 + zx**2) * zyy) / (2 * J**3)
    K = (zxx * zyy - zxy**2) / J**4
    return np.asarray(J * (depth + H * depth**2 + K * depth**3 / 3))
