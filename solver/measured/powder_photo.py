"""A powder pattern read off a photo: where the lines run on the plate, in metres of its plan.

The plate is found by its edge, taken off the photo and laid flat, and the powder on it traced. An even plate looks the same
from either side, so there may be several ways to lay it flat; which one holds, the lines themselves may tell later.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from solver.core.arrays import Bools, Floats
from solver.core.errors import InputError
from solver.measured.camera import Camera
from solver.measured.line_tracing import trace_lines
from solver.measured.photo_file import Photo
from solver.measured.plate_form import PlateForm
from solver.measured.pose_fit import PoseFit
from solver.measured.powder_ridges import powder_ridges
from solver.measured.straightened import Straightened, straighten

_HIDDEN = 0.1
"""How far in from an edge that is not seen the wood is taken to be hidden, as a share of the plate's length."""

_LEAST_LENGTH = 0.3
"""Least length of all lines together, as a share of the plate's length, that is a pattern."""


@dataclass(frozen=True, eq=False)
class PlateView:
    """One way to lay the photographed plate flat.

    ``lines`` are curves (p, 2) [m] in plan, the longest first; ``seen`` (r, c) tells on the grid of ``flat`` where wood
    lies clear enough to show powder; ``dark`` that the powder is darker than the wood.
    """

    camera: Camera
    flat: Straightened
    lines: tuple[Floats, ...]
    seen: Bools
    dark: bool

    @property
    def inside(self) -> bool:
        """Tell whether the hollow side is seen."""
        return self.camera.sees_inside

    @property
    def length(self) -> float:
        """Length [m] of all lines together."""
        return float(sum(np.linalg.norm(np.diff(line, axis=0), axis=1).sum() for line in self.lines))

    def shows(self, points: Floats) -> Bools:
        """Tell at which plan points (n, 2) [m] powder could be seen."""
        rows = np.rint((points[:, 0] - self.flat.x[0]) / self.flat.step).astype(np.int64)
        columns = np.rint((points[:, 1] - self.flat.y[0]) / self.flat.step).astype(np.int64)
        height, width = self.seen.shape
        inside = (rows >= 0) & (rows < height) & (columns >= 0) & (columns < width)
        return np.asarray(inside & self.seen[np.clip(rows, 0, height - 1), np.clip(columns, 0, width - 1)])


def read_pattern(
    photo: Photo,
    fit: PoseFit,
    form: PlateForm,
    name: str,
    sides: Collection[bool] = (False, True),
    look_alikes: bool = True,
) -> tuple[PlateView, ...]:
    """Return the ways to lay the plate flat, each with the powder lines on it.

    ``sides`` are those that it may have been photographed from, True for the inside. Without
    ``look_alikes`` the camera is taken as it is.

    Raises
    ------
    InputError
        If there is hardly any line on the plate.
    """
    found = [fit, *(_look_alikes(fit, form) if look_alikes else ())]
    poses = [pose for pose in found if pose.camera.sees_inside in sides]
    if not poses:
        side = "inside" if fit.camera.sees_inside else "outside"
        raise InputError(
            f"{name}: by its edge the plate is seen from the {side}; expected the other side, as --seen says. Leave it out."
        )
    first = _view(photo, poses[0], form)
    views = (first, *(_view(photo, pose, form, first.dark) for pose in poses[1:]))
    if max(view.length for view in views) < _LEAST_LENGTH * form.length:
        raise InputError(
            f"{name}: no powder lines can be seen on the plate; expected powder that contrasts with the wood, gathered in "
            "lines. Strew more of it, light the plate evenly from the side, or, where bench and wood are alike, point out "
            "four places with --landmark."
        )
    return views


def _look_alikes(fit: PoseFit, form: PlateForm) -> Iterator[PoseFit]:
    """Yield the ways in which the plate may lie that look the same by its edge."""
    for turn, shift in form.look_alikes:
        camera = fit.camera.before_turned_plate(turn, shift)
        yield replace(fit, camera=camera, rim=(fit.rim - shift) @ turn)


def _view(photo: Photo, fit: PoseFit, form: PlateForm, dark: bool | None = None) -> PlateView:
    flat = _uncovered(straighten(photo.colours, fit.camera, form), fit, _HIDDEN * form.length)
    ridges = powder_ridges(flat, dark)
    return PlateView(fit.camera, flat, trace_lines(ridges, flat), ridges.seen, ridges.dark)


def _uncovered(flat: Straightened, fit: PoseFit, reach: float) -> Straightened:
    """Count as hidden what lies within ``reach`` [m] behind parts of the edge that are not seen: a hand or a block."""
    rim, run = fit.rim[:, :2], _smoothed(~fit.clear)
    if not run.any():
        return flat
    cells = np.argwhere((flat.depth > 0) & (flat.depth < reach))
    plan = flat.places(cells.astype(float))
    near = np.isfinite(cKDTree(rim[run > 0]).query(plan, distance_upper_bound=reach)[0])
    rows, columns = cells[near].T
    nearest = cKDTree(rim).query(plan[near])[1]
    hidden = flat.depth[rows, columns] < reach * run[nearest]
    depth = flat.depth.copy()
    depth[rows[hidden], columns[hidden]] = 0.0
    return replace(flat, depth=depth)


def _smoothed(covered: Bools) -> Floats:
    """Return which share of the rim near each of its points is covered (n,)."""
    around = np.stack([np.roll(covered, shift) for shift in range(-6, 7)])
    return np.asarray(around.mean(axis=0))
