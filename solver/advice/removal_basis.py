"""The removals that a plan chooses from: smooth at the scale of a thumb plane, and never negative."""

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline
from scipy.sparse import csr_array, eye_array

from meshes.knot_grid import KnotGrid, knot_grid
from meshes.outline import Outline
from meshes.removal import SmoothRemoval
from meshes.smooth_map import DEGREE
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.modal.sensitivity import Sensitivity

THUMB_PLANE = 0.13
"""Length of a thumb plane's scale as a share of the square root of the plate's area: 30 mm on a violin (common practice,
no source)."""

_DUST = 2e-3 * MM
"""Coefficients below this [m] are what the solver leaves of nought."""


def plane_length(outline: Outline) -> float:
    """Return the length [m] below which a plan has no detail."""
    return THUMB_PLANE * float(np.sqrt(outline.without_holes().area))


@dataclass(frozen=True, eq=False)
class RemovalBasis:
    """Cubic splines on even knots half a thumb plane apart, mirrored about the centre line, for m coefficients.

    ``fold`` (m, v) makes them from the v free ones. With coefficients that are nowhere negative neither is the removal.
    """

    grid: KnotGrid
    fold: csr_array

    @property
    def size(self) -> int:
        """Number of free coefficients."""
        return int(self.fold.shape[1])

    def removal(self, free: Floats) -> SmoothRemoval:
        """Return the removal with free coefficients (v,) [m]."""
        coefficients = self.fold @ np.where(free > _DUST, free, 0.0)
        return SmoothRemoval(self.grid.map(coefficients))

    def design(self, points: Floats) -> csr_array:
        """Return A (n, v) with A @ free the removal [m] at points (n, 2) [m]."""
        return csr_array(self.grid.design(points) @ self.fold)

    def roughness(self) -> csr_array:
        """Return P (v, v) with free' P free the squared second differences, summed over the knots [m2]."""
        return csr_array(self.fold.T @ self.grid.roughness(2) @ self.fold)

    def gains(self, sensitivity: Sensitivity) -> Floats:
        """Return what each free coefficient does to the k modes and, last, to the mass (k + 1, v) [Hz/m, kg/m].

        ``G_i = integral (by_depth B_i + by_slope . grad B_i)`` for the products of splines B_i.
        """
        x, y = sensitivity.places.T
        along, across = _splines(self.grid.x, x, 0), _splines(self.grid.y, y, 0)
        steep, sideways = _splines(self.grid.x, x, 1), _splines(self.grid.y, y, 1)
        areas = sensitivity.areas
        rows = [
            along.T @ ((areas * depth)[:, None] * across)
            + steep.T @ ((areas * slope[:, 0])[:, None] * across)
            + along.T @ ((areas * slope[:, 1])[:, None] * sideways)
            for depth, slope in zip(sensitivity.by_depth, sensitivity.by_slope, strict=True)
        ]
        rows.append(along.T @ ((areas * sensitivity.mass_by_depth)[:, None] * across))
        return np.asarray(np.stack(rows).reshape(len(rows), -1) @ self.fold)


def removal_basis(outline: Outline, symmetric: bool = False) -> RemovalBasis:
    """Return the basis for a plate; ``symmetric`` about its centre line, on which y is 0."""
    left, low, right, high = outline.bounds
    half, step = max(-low, high), 0.5 * plane_length(outline)
    grid = knot_grid((left, -half, right, half), step, margin=0.5 * step)
    return RemovalBasis(
        grid, _mirrored(grid) if symmetric else csr_array(eye_array(int(np.prod(grid.shape))))
    )


def _mirrored(grid: KnotGrid) -> csr_array:
    """Return the fold (m, v) that gives the same coefficient to both of a mirrored pair."""
    places = np.arange(np.prod(grid.shape)).reshape(grid.shape)
    own, column = np.unique(np.minimum(places, places[:, ::-1]), return_inverse=True)
    size = places.size
    return csr_array((np.ones(size), (np.arange(size), column.ravel())), shape=(size, len(own)))


def _splines(knots: Floats, at: Floats, order: int) -> Floats:
    """Return the cubic basis splines, or their ``order``-th derivatives, at coordinates (n,) [m], as (n, b)."""
    return np.asarray(BSpline(knots, np.eye(len(knots) - DEGREE - 1), DEGREE)(at, nu=order))
