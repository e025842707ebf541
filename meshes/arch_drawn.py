"""The arch drawn from the outline by two figures, as violins are arched."""

import numpy as np

from meshes.fair_width import FairWidth, fair_width
from meshes.knot_grid import knot_grid
from meshes.outline import Outline
from meshes.surface import Arch, MappedArch
from solver.core.arrays import Floats

FULLNESS = 4.0
"""Power of the long arch: 2 is a parabola, 4 is nearly level over the middle half (common practice, no source)."""
RECURVE = 0.2
"""How soon the long arch lifts from the channel at its ends: the greater, the more gently."""
STEPS = 120
"""Knots along the plate: 3 mm apart on a violin."""


def drawn_arch(outline: Outline, rise: float, channel: float) -> Arch:
    """Return an arch of this rise [m] over a flat channel [m] along the edge, at the height z = 0.

    z = rise L(x) C(y / w(x)): a long arch that stays full towards the ends, times a cross arch with an inflection
    half-way to the channel, in the fair half-width w within the channel. The corners stay low and flat.

    Raises
    ------
    InputError
        If the channel leaves nothing to arch.
    """
    width = fair_width(outline, channel)
    left, _, right, _ = outline.bounds
    step = (right - left) / STEPS
    grid = knot_grid(outline.bounds, step, step)
    # Coefficients taken from the height itself (Schoenberg's spline) never make a wave that is not in it.
    coefficients = long_arch(width.along(grid.centres)) * cross_arch(width.across(grid.centres))
    crest = grid.map(coefficients).value(_centre_line(width)).max()
    return MappedArch(grid.map(coefficients * rise / crest))


def long_arch(fraction: Floats) -> Floats:
    """Return the height (n,) along the middle, at a fraction of the length, as a share of the rise.

    1 - (1 - e)^(p/2) with e = s^3 (1 + r^2) / (s^2 + r^2), s = 4 t (1 - t): it leaves the ends with the third power,
    without slope or curvature, and then follows 1 - |2 t - 1|^p.
    """
    s = 4 * fraction * (1 - fraction)
    e = s**3 * (1 + RECURVE**2) / (s**2 + RECURVE**2)
    return np.asarray(1 - np.maximum(1 - e, 0.0) ** (FULLNESS / 2))


def cross_arch(across: Floats) -> Floats:
    """Return the height (n,) as a share of the middle's, ``across`` half-widths from it: (1 + cos pi v) / 2."""
    return np.asarray(0.5 * (1 + np.cos(np.pi * np.clip(across, -1, 1))))


def _centre_line(width: FairWidth) -> Floats:
    """Points (n, 2) [m] along the middle of the plate."""
    x = np.linspace(width.start, width.end, 400)
    return np.column_stack([x, width.middle(x)])
