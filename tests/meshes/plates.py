"""Outlines, arches and graduations that are known exactly, for the tests of what is fitted to readings."""

import numpy as np
from shapely import contains_xy

from meshes.outline import Outline, edge_through, make_outline
from solver.core.arrays import Floats

A, B, H = 0.178, 0.080, 0.020
"""Half length, half width and rise [m] of the ellipse."""

HALF_VIOLIN = (
    ((0, 0), (1.2, 22), (7, 50), (18, 74), (40, 94), (72, 103), (100, 99.5), (122, 91.5)),
    ((137, 92.5), (141.5, 80), (151, 66), (168, 57.5), (192, 55), (210, 57.5), (222, 64.5), (228.5, 71)),
    ((232, 78), (246, 76.5), (266, 81), (290, 83.5), (318, 77), (338, 60), (349, 38), (354, 16), (355, 0)),
)
"""The left half of an invented outline, 355 mm long, in mm: lower bout, waist and upper bout."""


def ellipse_outline() -> Outline:
    t = 2 * np.pi * np.arange(96) / 96
    return make_outline(edge_through(np.column_stack([A * np.cos(t), B * np.sin(t)]), "outline"))


def violin_outline() -> Outline:
    """Bouts of 206 and 167 mm, a waist of 110 mm, and four corners."""
    left = np.array([point for part in HALF_VIOLIN for point in part], dtype=float)
    right = left[1:-1] * [1, -1]
    corners = [i for i, (x, _) in enumerate(left) if x in (137, 232)]
    knots = np.vstack([right, left[::-1]])  # counter-clockwise
    mirrored = [i - 1 for i in corners] + [len(right) + len(left) - 1 - i for i in corners]
    return make_outline(edge_through(knots * 1e-3, "outline", sorted(mirrored)))


def ellipse_height(points: Floats) -> Floats:
    """H (1 - s)^2 with s = (x/A)^2 + (y/B)^2: in units of the half-width a product of long and cross arch."""
    return np.asarray(H * (1 - np.sum((points / [A, B]) ** 2, axis=1)) ** 2)


def ellipse_hessian(points: Floats) -> Floats:
    """Second derivatives (n, 2, 2) of the same, by hand."""
    s = np.sum((points / [A, B]) ** 2, axis=1)
    slope = 2 * points / np.array([A, B]) ** 2
    curvature = np.diag([2 / A**2, 2 / B**2])
    return np.asarray(2 * H * (slope[:, :, None] * slope[:, None, :] - (1 - s)[:, None, None] * curvature))


def plan_grid(outline: Outline, step: float, short: float = 0.0) -> Floats:
    """Points (n, 2) of a square grid that lie on the plate, at least ``short`` [m] from its edge."""
    left, low, right, high = outline.bounds
    x, y = np.meshgrid(np.arange(left, right + step, step), np.arange(low, high + step, step), indexing="ij")
    points = np.column_stack([x.ravel(), y.ravel()])
    inner = outline.polygon.buffer(-short)
    return np.asarray(points[contains_xy(inner, points[:, 0], points[:, 1])])


def readings_of(points: Floats, values: Floats) -> Floats:
    """Rows (n, 3) of places and what was read there."""
    return np.column_stack([points, values])
