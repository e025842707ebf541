"""Places that the maker points out on the photo, where the edge cannot be found by itself."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from solver.core.arrays import Floats, freeze
from solver.core.errors import InputError
from solver.core.units import MM
from solver.measured.camera import FREEDOMS, Camera, square_on
from solver.measured.camera_fit import best_camera
from solver.measured.photo_file import Photo
from solver.measured.plate_form import PlateForm
from solver.measured.pose_fit import PoseFit, fitted_pose, pose_of, roughly_fitted, softened

FEWEST = 4
_TURNS = 12
_POINTED = 2.0 * MM
"""How exactly a place can be pointed out."""

_MOST_OFF = 8.0 * MM
_EDGE_SEEN = 0.8
_LEAST_SPREAD = 0.15
"""Least extent of the landmarks across their longest line, as a share of the plate's length."""


@dataclass(frozen=True, eq=False)
class Landmark:
    """A place: ``pixel`` (2,) on the upright photo as it stands in the file, column and row, and ``plan`` (2,) [m]."""

    pixel: Floats
    plan: Floats

    def __post_init__(self) -> None:
        freeze(self, pixel=((2,), float), plan=((2,), float))


def named_places(form: PlateForm) -> dict[str, Floats]:
    """Return the plan points (2,) [m] of places with names: the ends of the centre line, and the corners if there are four.

    Left and right are those of the plate seen from the outside with its upper end up.
    """
    edge, (low, _, high, _) = form.outline.edge, form.outline.bounds
    rim = edge.sampled(0.5 * MM)
    ends = {}
    for name, x in ("neck", high), ("tail", low):
        near = rim[np.abs(rim[:, 0] - x) < 0.25 * form.length]
        ends[name] = near[np.abs(near[:, 1]).argmin()]
    corners = edge.knots[edge.corners]
    if len(corners) != 4:
        return ends
    upper = np.argsort(corners[:, 0])
    pairs = {"lower": corners[upper[:2]], "upper": corners[upper[2:]]}
    for name, pair in pairs.items():
        left = int(pair[:, 1].argmax())
        ends |= {f"{name}-left": pair[left], f"{name}-right": pair[1 - left]}
    return ends


def found_by_landmarks(photo: Photo, form: PlateForm, landmarks: Sequence[Landmark]) -> PoseFit:
    """Return the camera from which the landmarks lie where they were pointed out, bettered by the edge where it is seen.

    Raises
    ------
    InputError
        If there are fewer than four, they lie nearly in one line, or one of them cannot be right.
    """
    _check(landmarks, form)
    pixels = np.array([mark.pixel for mark in landmarks]) / photo.reduced
    plan = np.array([mark.plan for mark in landmarks])
    camera, off = _camera(photo, pixels, [form.side(plan, inside) for inside in (False, True)])
    if off.max() > _MOST_OFF:
        worst = int(off.argmax())
        x, y = landmarks[worst].plan / MM
        raise InputError(
            f"--landmark: the places do not fit together, the one at {x:.0f},{y:.0f} mm by {off[worst] / MM:.0f} mm; "
            f"expected all within {_MOST_OFF / MM:.0f} mm. Point them out again, left and right as seen from the outside."
        )
    soft = softened(photo.colours)
    by_edge = fitted_pose(soft, form, roughly_fitted(soft, form, camera).camera)
    if by_edge.seen >= _EDGE_SEEN:
        return by_edge
    pointed = pose_of(soft, form, camera)
    return replace(
        pointed, clear=np.ones(len(pointed.rim), bool)
    )  # no part of the edge is known to be covered


def _check(landmarks: Sequence[Landmark], form: PlateForm) -> None:
    if len(landmarks) < FEWEST:
        raise InputError(
            f"--landmark: {len(landmarks)} places; expected {FEWEST} or more, well apart. Point out more of them."
        )
    low_x, low_y, high_x, high_y = form.outline.bounds
    for x, y in (mark.plan for mark in landmarks):
        if not (
            low_x - _MOST_OFF <= x <= high_x + _MOST_OFF and low_y - _MOST_OFF <= y <= high_y + _MOST_OFF
        ):
            raise InputError(
                f"--landmark: {x / MM:g},{y / MM:g} mm is off the plate; expected x {low_x / MM:.0f} to {high_x / MM:.0f} "
                f"and y {low_y / MM:.0f} to {high_y / MM:.0f}. Write X_PX,Y_PX=X_MM,Y_MM."
            )
    for places, kind in (([m.plan for m in landmarks], "plate"), ([m.pixel for m in landmarks], "photo")):
        spread = np.linalg.svd(np.array(places) - np.mean(places, axis=0), compute_uv=False)
        if spread[1] < _LEAST_SPREAD * max(spread[0], 1e-12):
            raise InputError(
                f"--landmark: the places lie nearly in one line on the {kind}; expected places on all sides of the plate. "
                "Point out others."
            )


def _camera(photo: Photo, pixels: Floats, sides: Sequence[Floats]) -> tuple[Camera, Floats]:
    """Return the camera that fits best, and how far [m] each place is off; the places lie on either side."""
    height, width = photo.colours.shape[:2]
    middle = 0.5 * np.array([width - 1, height - 1])
    scale = float(np.std(pixels, axis=0).sum() / np.std(sides[0][:, :2], axis=0).sum())
    best: tuple[float, Camera] | None = None
    for inside, points in zip((False, True), sides, strict=True):
        for angle in 2 * np.pi * np.arange(_TURNS) / _TURNS:
            start = square_on(np.zeros(2), float(angle), scale, inside, photo.focal, middle)
            start = square_on(
                (pixels - start.pixels(points)).mean(axis=0), float(angle), scale, inside, photo.focal, middle
            )
            camera, cost = _settled(start, pixels, points, scale)
            if best is None or cost < best[0]:
                best = cost, camera
    assert best is not None, "some start is tried"
    points = sides[best[1].sees_inside]
    return best[1], np.linalg.norm(best[1].pixels(points) - pixels, axis=1) / scale


def _settled(start: Camera, pixels: Floats, points: Floats, scale: float) -> tuple[Camera, float]:
    def misses(camera: Camera) -> tuple[Floats, Floats]:
        off = (camera.pixels(points) - pixels) / (scale * _POINTED)
        return off.ravel(), camera.rates(points).reshape(-1, FREEDOMS) / (scale * _POINTED)

    return best_camera(start, misses, hold=1.0, most=40)
