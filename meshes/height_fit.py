"""Smooth heights over a plate, or along a template, and which of the readings stand off from them."""

import numpy as np

from meshes.knot_grid import KnotGrid, differences, even_knots, knot_grid
from meshes.readings import spacing
from meshes.smooth_fit import Smoother
from meshes.smooth_map import DEGREE, Bounds
from solver.core.arrays import Floats, Ints
from solver.core.units import MM

STIFFNESS = 4
"""Order of the derivatives that are kept small: curvature may change along the arch, but evenly.

With second derivatives the arch would end without curvature at its edge, with third ones its curvature would
stop changing there: on an ellipse arched as H (1 - s)^2 it would be wrong by a third at the edge."""
LEAST_NOISE = 1e-3 * MM
MOST_NOISE = 0.2 * MM
"""Heights are read to a tenth of a millimetre or two (common practice, no source)."""
FINEST = 4.0 * MM
CURVE_PIECES = 40
ASTRAY = 6.0
"""Scatters by which a reading may stand off from the rest."""
WORST = 100
"""Readings missed most that are looked at one by one."""
USUAL_SCATTER = 0.05 * MM
"""Scatter that is taken for granted, so that readings off a drawing need not be better than that."""
ASTRAY_AT_LEAST = 0.5 * MM
UNSEEN = 6.0
"""Curvature [1/m] by which an arch may change between two readings unseen (common practice, no source)."""


def map_smoother(readings: Floats, bounds: Bounds, order: int = STIFFNESS) -> tuple[KnotGrid, Smoother]:
    """Return knots that suit heights (n, 3) [m] over the bounds of a plate, and the fit of the heights on them.

    The ``order``-th derivatives are kept small; polynomials below that degree have none.
    """
    length = max(bounds[2] - bounds[0], bounds[3] - bounds[1])
    step = float(np.clip(0.7 * spacing(readings), max(FINEST, length / 75), max(FINEST, length / 45)))
    grid = knot_grid(bounds, step, step)
    design = grid.design(readings[:, :2])
    return grid, Smoother(
        design, grid.roughness(order), order * (order + 1) // 2, readings[:, 2], LEAST_NOISE
    )


def curve_smoother(curve: Floats, low: float, high: float) -> tuple[Floats, Smoother]:
    """Return knots from low to high, and the fit on them of points (n, 2): a coordinate and a height [m]."""
    from scipy.interpolate import BSpline
    from scipy.sparse import csr_array

    hair = 1e-9 * (high - low)  # the last knot may be rounded down
    knots = even_knots(low - hair, high + hair, (high - low + 2 * hair) / CURVE_PIECES)
    rough = differences(CURVE_PIECES + DEGREE, STIFFNESS)
    design = csr_array(BSpline.design_matrix(curve[:, 0], knots, DEGREE))
    return knots, Smoother(design, csr_array(rough.T @ rough), STIFFNESS, curve[:, 1], LEAST_NOISE)


def most_astray(smoother: Smoother, apart: Floats) -> tuple[int, float] | None:
    """Return the reading that stands off most, and the height [m] that the others let expect there; or None.

    A reading stands off if the others miss it by far more than they scatter, and by more than an arch can bend
    unseen within ``apart`` (n,) [m], its distance to the others around.
    """
    rows = some_rows(len(smoother.values))
    misfit = np.abs(smoother.values - smoother.design @ smoother.coefficients(smoother.best_smoothing))
    rows = np.union1d(rows, np.argsort(misfit)[-WORST:])
    off, even = smoother.deleted_residuals(smoother.best_smoothing, rows)
    scatter = max(1.4826 * float(np.median(even)), USUAL_SCATTER)  # for normal noise, from its median
    astray = (even > ASTRAY * scatter) & (np.abs(off) > ASTRAY_AT_LEAST + UNSEEN * apart[rows] ** 2)
    if not astray.any():
        return None
    worst = int(np.argmax(astray * even))
    return int(rows[worst]), float(smoother.values[rows[worst]] - off[worst])


def foretelling_error(smoother: Smoother) -> float:
    """Return the root mean square [m] of what the other readings miss each one by."""
    off, _ = smoother.deleted_residuals(smoother.best_smoothing, some_rows(len(smoother.values)))
    return float(np.sqrt(np.mean(off**2)))


def some_rows(count: int) -> Ints:
    """Return at most 300 of ``count`` readings, evenly out of all of them."""
    return np.arange(0, count, 1 + count // 300)
