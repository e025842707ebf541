"""Arching templates as taken from a plate: the long arch and the cross arches, sorted out of one list of points."""

from dataclasses import dataclass

import numpy as np

from meshes.arch_checks import AGREE, STEEPEST
from meshes.outline import Outline
from meshes.readings import check_consistent, check_enough, one_per_place, place
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM

ON_LINE = 1.0 * MM
"""Points this near to a line were meant to lie on it."""
LEAST_POINTS = 5
LEAST_CROSS_ARCHES = 3
LEAST_RISE = 1.0 * MM
SHORT = 0.15
"""Share of the half-width by which a template may stop short of the edge."""


@dataclass(frozen=True, eq=False)
class Templates:
    """The long arch, and the cross arches by rising x: points (n, 3) [m] of each, in order along it."""

    long_arch: Floats
    cross_arches: tuple[Floats, ...]


def sort_templates(readings: Floats, outline: Outline) -> Templates:
    """Return the templates that points (n, 3) [m] along y = 0 and along lines of constant x make.

    A cross arch of which only one side was taken is mirrored.

    Raises
    ------
    InputError
        If points lie on no section, contradict each other where sections cross, or are too few or too short; or
        if there are fewer than three cross arches. The sentence says where.
    """
    check_enough("arch sections", readings, LEAST_POINTS * (1 + LEAST_CROSS_ARCHES))
    check_consistent("arch sections", readings, AGREE, STEEPEST)
    points = one_per_place(readings)
    on_axis = np.abs(points[:, 1]) <= ON_LINE
    off_axis = points[~on_axis]
    order = np.argsort(off_axis[:, 0])
    breaks = np.flatnonzero(np.diff(off_axis[order, 0]) > ON_LINE) + 1
    groups = [off_axis[rows] for rows in np.split(order, breaks) if len(rows)]
    long_arch = _long_arch(points[on_axis], outline)
    _check_groups(groups)
    return Templates(long_arch, tuple(_cross_arch(group, long_arch, outline) for group in groups))


def _long_arch(points: Floats, outline: Outline) -> Floats:
    if len(points) < LEAST_POINTS:
        raise InputError(
            f"arch sections: {len(points)} points lie on y = 0; expected the long arch there, {LEAST_POINTS} points or "
            "more from end to end. Add it."
        )
    arch = points[np.argsort(points[:, 0])]
    left, _, right, _ = outline.bounds
    for end, missing in ((left, arch[0, 0] - left), (right, right - arch[-1, 0])):
        if missing > 0.5 * SHORT * (right - left):
            raise InputError(
                f"arch sections: the long arch stops {missing / MM:.0f} mm short of the end of the plate at "
                f"x = {end / MM:.1f} mm; expected it from end to end. Take it on."
            )
    return arch


def _check_groups(groups: list[Floats]) -> None:
    """Refuse points of one x that are too few for a cross arch, and cross arches too few for a plate."""
    for group in groups:
        if len(group) < LEAST_POINTS - 1:
            raise InputError(
                f"arch sections: the point at {place(group[0])} is on no section; expected y = 0 for the long arch, or "
                f"{LEAST_POINTS} points or more at the same x for a cross arch. Correct its x or y, or give the points "
                "as heights with file = instead of sections =."
            )
    if len(groups) < LEAST_CROSS_ARCHES:
        raise InputError(
            f"arch sections: there are {len(groups)} cross arches; expected {LEAST_CROSS_ARCHES} or more, at the upper "
            "bout, the waist and the lower bout. Add the missing ones."
        )


def _cross_arch(group: Floats, long_arch: Floats, outline: Outline) -> Floats:
    """Return one cross arch, whole, with what was read at its x on the long arch."""
    x = float(np.mean(group[:, 0]))
    if np.all(group[:, 1] > 0) or np.all(group[:, 1] < 0):
        group = np.vstack([group, group * [1, -1, 1]])
    arch = np.vstack([group, long_arch[np.abs(long_arch[:, 0] - x) <= ON_LINE]])
    arch[:, 0] = x
    arch = arch[np.argsort(arch[:, 1])]
    _check_reach(x, arch, outline)
    if arch[:, 2].max() - max(arch[0, 2], arch[-1, 2]) < LEAST_RISE:
        raise InputError(
            f"arch sections: the cross arch at x = {x / MM:.1f} mm rises less than {LEAST_RISE / MM:g} mm from edge to "
            "middle; expected an arch. Look at its heights; for a flat plate write flat = true."
        )
    return arch


def _check_reach(x: float, arch: Floats, outline: Outline) -> None:
    low, high = outline.spans(np.array([x]))[0]
    if not np.isfinite(low):
        raise InputError(
            f"arch sections: the cross arch at x = {x / MM:.1f} mm lies off the plate; expected it between its ends. "
            "Look at the origin and the unit."
        )
    for edge, missing in ((low, arch[0, 1] - low), (high, high - arch[-1, 1])):
        if abs(missing) > SHORT * 0.5 * (high - low):
            raise InputError(
                f"arch sections: the cross arch at x = {x / MM:.1f} mm ends {abs(missing) / MM:.0f} mm "
                f"{'short of' if missing > 0 else 'beyond'} the edge at y = {edge / MM:.1f} mm; expected it from edge "
                "to edge. Take it on, or correct its points."
            )
