"""Where a camera stood: plate points in space to places on the photo, and back to the eye."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial.transform import Rotation

from solver.core.arrays import Floats, freeze

FREEDOMS = 9
"""Of a camera: three turns, three shifts, focal length, and where on the photo its axis points."""

_USUAL_FOCAL = 28.0 / 43.27
"""Focal length of a phone's main camera over the diagonal of its picture (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Camera:
    """A pinhole camera: a plate point X [m] lies at ``turn X + shift`` before it, z away from the lens.

    ``turn`` (3, 3), ``shift`` (3,) [m]; ``focal`` [pixels]; ``centre`` (2,) [pixels] is where its axis meets the photo,
    whose columns run to the right and rows down.
    """

    turn: Floats
    shift: Floats
    focal: float
    centre: Floats

    def __post_init__(self) -> None:
        freeze(self, turn=((3, 3), float), shift=((3,), float), centre=((2,), float))

    @property
    def eye(self) -> Floats:
        """The place (3,) [m] of the lens in the plate's coordinates."""
        return np.asarray(-self.turn.T @ self.shift)

    @property
    def sees_inside(self) -> bool:
        """Tell whether it looks at the hollow side."""
        return bool(self.eye[2] < 0)

    @property
    def lean_deg(self) -> float:
        """How far its axis is off the plate's upright."""
        return float(np.degrees(np.arccos(np.clip(abs(self.turn[2, 2]), 0.0, 1.0))))

    def pixels(self, points: Floats) -> Floats:
        """Return where plate points (n, 3) [m] lie on the photo (n, 2) [pixels: column, row]."""
        before = points @ self.turn.T + self.shift
        return np.asarray(self.focal * before[:, :2] / np.maximum(before[:, 2:], 1e-6) + self.centre)

    def rates(self, points: Floats) -> Floats:
        """Return how the places of points (n, 3) [m] on the photo change (n, 2, 9) with each part of `moved`'s step."""
        turned = points @ self.turn.T
        x, y, z = (turned + self.shift).T
        z = np.maximum(z, 1e-6)
        unit, none = np.full(len(points), self.focal), np.zeros(len(points))
        # pixels by places before the lens, then those places by turns (a x b as a matrix) and shifts
        by_place = np.stack(
            [np.stack([unit / z, none, -unit * x / z**2]), np.stack([none, unit / z, -unit * y / z**2])]
        )
        a, b, c = turned.T
        by_turn = np.stack([np.stack([none, c, -b]), np.stack([-c, none, a]), np.stack([b, -a, none])])
        by_focal = self.focal * np.stack([x / z, y / z])[:, None]
        by_centre = np.stack([np.stack([unit, none]), np.stack([none, unit])])
        parts = [
            np.einsum("ikn,kjn->ijn", by_place, by_turn),
            float(self.shift[2]) * by_place,
            by_focal,
            by_centre,
        ]
        return np.asarray(np.concatenate(parts, axis=1).transpose(2, 0, 1))

    def moved(self, step: Floats) -> "Camera":
        """Return the camera after a small ``step`` (9,).

        Turns [rad], shifts as shares of the distance, the logarithm of the focal length, and the centre as a share of
        the focal length, so that all nine are of one size.
        """
        far = float(self.shift[2])
        turn = Rotation.from_rotvec(step[:3]).as_matrix()
        return Camera(
            turn @ self.turn,
            self.shift + far * step[3:6],
            self.focal * float(np.exp(step[6])),
            self.centre + self.focal * step[7:],
        )

    def scaled(self, factor: float) -> "Camera":
        """Return the same camera on a photo ``factor`` times as large."""
        return replace(self, focal=factor * self.focal, centre=factor * (self.centre + 0.5) - 0.5)

    def before_turned_plate(self, turn: Floats, shift: Floats) -> "Camera":
        """Return the camera for which the plate looks as before when it is moved in itself: ``X -> turn X + shift``."""
        return replace(self, turn=self.turn @ turn, shift=self.turn @ shift + self.shift)


def usual_focal(width: int, height: int) -> float:
    """Return the focal length [pixels] that a photo of unknown origin most likely has."""
    return _USUAL_FOCAL * float(np.hypot(width, height))


def square_on(
    place: Floats, angle: float, scale: float, inside: bool, focal: float, middle: Floats
) -> Camera:
    """Return a camera that looks straight down: the plate's origin at ``place`` (2,) [pixels], ``scale`` [pixels/m].

    The plate's x runs on the photo ``angle`` [rad] down from the right; ``middle`` (2,) is the middle of the photo.
    """
    cos, sin = np.cos(angle), np.sin(angle)
    facing = np.diag([1.0, 1.0, 1.0] if inside else [1.0, -1.0, -1.0])
    turn = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]]) @ facing
    far = focal / scale
    return Camera(turn, np.array([*(place - middle) / scale, far]), focal, middle)
