"""A powder pattern read off a photo: where the lines run on the plate, in metres of its plan.

The plate is found by its edge, taken off the photo and laid flat, and the powder on it traced. An even plate looks the same
from either side, so there may be several ways to lay it flat; which one holds, the lines themselves may tell later.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from solver.arrays import Bools, Floats
from solver.errors import InputError
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
    found = _cameras(fit.camera, form) if look_alikes else (fit.camera,)
    cameras = [camera for camera in found if camera.sees_inside in sides]
    if not cameras:
        side = "inside" if fit.camera.sees_inside else "outside"
        raise InputError(
            f"{name}: by its edge the plate is seen from the {side}; expected the other side, as --seen says. Leave it out."
        )
    views = tuple(_view(photo, camera, fit, form) for camera in cameras)
    if max(view.length for view in views) < _LEAST_LENGTH * form.length:
        raise InputError(
            f"{name}: no powder lines can be seen on the plate; expected powder that contrasts with the wood, gathered in "
            "lines. Strew more of it, or light the plate evenly from the side."
        )
    return views


def _cameras(camera: Camera, form: PlateForm) -> Iterator[Camera]:
    """Yield the camera and those from which the edge looks the same."""
    yield camera
    for turn, shift in form.look_alikes:
        yield camera.before_turned_plate(turn, shift)


def _view(photo: Photo, camera: Camera, fit: PoseFit, form: PlateForm) -> PlateView:
    flat = _uncovered(straighten(photo.colours, camera, form), camera, fit, form)
    ridges = powder_ridges(flat)
    return PlateView(camera, flat, trace_lines(ridges, flat), ridges.seen, ridges.dark)


def _uncovered(flat: Straightened, camera: Camera, fit: PoseFit, form: PlateForm) -> Straightened:
    """Count as hidden what lies behind parts of the edge that are not seen: there is a hand or a block."""
    rim = fit.camera.pixels(fit.rim)
    rows, columns = np.nonzero((flat.depth > 0) & (flat.depth < _HIDDEN * form.length))
    plan = flat.places(np.column_stack([rows, columns]).astype(float))
    nearest = cKDTree(rim).query(camera.pixels(form.side(plan, camera.sees_inside)))[1]
    depth = flat.depth.copy()
    run = _smoothed(~fit.clear)
    hidden = flat.depth[rows, columns] < _HIDDEN * form.length * run[nearest]
    depth[rows[hidden], columns[hidden]] = 0.0
    return replace(flat, depth=depth)


def _smoothed(covered: Bools) -> Floats:
    """Return which share of the rim near each of its points is covered (n,)."""
    around = np.stack([np.roll(covered, shift) for shift in range(-6, 7)])
    return np.asarray(around.mean(axis=0))
