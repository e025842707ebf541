"""The camera found exactly: along the plate's rim the steps from bench to wood, a hand or a foam block over it left out."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter, map_coordinates

from solver.core.arrays import Bools, Floats
from solver.measured.camera import Camera
from solver.measured.camera_fit import best_camera
from solver.measured.plate_form import PlateForm

_RIM, _ROUGH_RIM = 320, 120
_ROUGH, _FINE = (0.030, 0.018), (0.010, 0.010)
"""How far from where the rim is thought to be steps are looked for, round by round, as a share of the plate's length."""

_SIDE = 0.009
"""Width on either side over which colours are averaged, as a share of the length: 3 mm on a violin."""

_OFFSETS = 61
_SOFT = 0.8
_GOOD = 0.006
"""A rim point is seen if the step lies as near as this to where it should, as a share of the length."""

_ALIKE = 0.3
"""And if the change of colour across it has at least this share of the usual one along the rim."""


@dataclass(frozen=True, eq=False)
class PoseFit:
    """A camera, the share of the rim that it sees where it should be, and how far [m] that lies off in the median.

    ``contrast`` is the usual change of colour across the rim, 0 to about 1. Of the points ``rim`` (n, 3) [m] those are
    ``clear`` (n,) at which nothing lies over the edge.
    """

    camera: Camera
    seen: float
    off: float
    contrast: float
    rim: Floats
    clear: Bools


@dataclass(frozen=True, eq=False)
class _Steps:
    """Where colours change on lines across the rim: ``offset`` (n,) [m] outward, ``change`` (n, 3) inside less outside."""

    offset: Floats
    change: Floats

    def alike(self) -> Bools:
        """Tell which changes are like most of them: the same colour apart from the strength of the light."""
        usual = np.median(self.change, axis=0)
        size = float(usual @ usual)
        share = self.change @ usual / max(size, 1e-12)
        sideways = np.linalg.norm(self.change - share[:, None] * usual, axis=1) / max(np.sqrt(size), 1e-6)
        return np.asarray((share > _ALIKE) & (sideways < 1.0 + share))


def softened(photo: Floats) -> Floats:
    """Return a photo (h, w, 3) without its grain of noise, as rims are looked for on it."""
    return np.asarray(gaussian_filter(photo, (_SOFT, _SOFT, 0)))


def roughly_fitted(soft: Floats, form: PlateForm, camera: Camera) -> PoseFit:
    """Return a camera that sees the rim more nearly where the softened photo (h, w, 3) has it.

    In rounds, each looking less far, the sharpest step of colour across every rim point is found, and the nine
    freedoms of the camera are fitted to them with Cauchy's loss, so that points under a hand or a block count little.
    """
    return pose_of(soft, form, _in_rounds(soft, form, camera, _ROUGH_RIM, _ROUGH), _ROUGH_RIM)


def fitted_pose(soft: Floats, form: PlateForm, camera: Camera) -> PoseFit:
    """Return the camera that sees the rim where the softened photo (h, w, 3) has it, from one that nearly does."""
    return pose_of(soft, form, _in_rounds(soft, form, camera, _RIM, _FINE))


def _in_rounds(
    soft: Floats, form: PlateForm, camera: Camera, count: int, reaches: tuple[float, ...]
) -> Camera:
    rim, outward = form.rim(count, camera.sees_inside)
    for reach in reaches:
        steps = _steps(soft, camera, rim, outward, form.length, reach)
        camera = _fitted(camera, rim, outward, steps, 0.1 * reach * form.length)
    return camera


def pose_of(soft: Floats, form: PlateForm, camera: Camera, count: int = _RIM) -> PoseFit:
    """Return how well a camera sees the rim, ``count`` points of it, where the softened photo (h, w, 3) has it."""
    rim, outward = form.rim(count, camera.sees_inside)
    steps = _steps(soft, camera, rim, outward, form.length, _FINE[-1])
    good = steps.alike() & (np.abs(steps.offset) < _GOOD * form.length) & _inside(soft, camera.pixels(rim))
    off = float(np.median(np.abs(steps.offset[good]))) if good.any() else float("inf")
    contrast = float(np.linalg.norm(np.median(steps.change, axis=0)))
    return PoseFit(camera, float(good.mean()), off, contrast, rim, good)


def _steps(soft: Floats, camera: Camera, rim: Floats, outward: Floats, length: float, reach: float) -> _Steps:
    """Find on lines across the rim the offset where the colours on both sides differ most, far ones held back."""
    span = reach + _SIDE
    offsets = np.linspace(-span, span, _OFFSETS) * length
    lines = rim[:, None] + offsets[:, None] * outward[:, None]
    colours = _colours(soft, camera.pixels(lines.reshape(-1, 3))).reshape(len(rim), _OFFSETS, 3)
    width = max(1, round(_SIDE * length / (offsets[1] - offsets[0])))
    total = np.concatenate([np.zeros((len(rim), 1, 3)), np.cumsum(colours, axis=1)], axis=1)
    means = (total[:, width:] - total[:, :-width]) / width
    change = means[:, :-width] - means[:, width:]
    middle = offsets[width - 1 : width - 1 + change.shape[1]] + 0.5 * (offsets[1] - offsets[0])
    usual = np.median(change[:, np.abs(middle).argmin()], axis=0)
    strength = np.linalg.norm(change, axis=2) + np.maximum(change @ usual, 0.0) / max(
        np.linalg.norm(usual), 1e-6
    )
    held_back = strength * np.exp(-0.5 * (middle / (0.6 * reach * length)) ** 2)
    best = held_back.argmax(axis=1)
    rows = np.arange(len(rim))
    return _Steps(middle[best], change[rows, best])


def _fitted(camera: Camera, rim: Floats, outward: Floats, steps: _Steps, loose: float) -> Camera:
    """Return the camera from which the rim lies on the steps."""
    found = camera.pixels(rim + steps.offset[:, None] * outward)
    across = camera.pixels(rim + 1e-3 * outward) - camera.pixels(rim)
    across /= np.linalg.norm(across, axis=1, keepdims=True)
    scale = camera.focal / float(camera.shift[2])
    doubt = np.where(steps.alike(), 1.0, 0.2)

    unit = (doubt / (scale * loose))[:, None] * across

    def misses(moved: Camera) -> tuple[Floats, Floats]:
        off = ((moved.pixels(rim) - found) * unit).sum(axis=1)
        return off, np.einsum("ni,nij->nj", unit, moved.rates(rim))

    return best_camera(camera, misses, hold=2.0, loose=1.0)[0]


def _colours(photo: Floats, pixels: Floats) -> Floats:
    """Return the colours (n, 3) at places between pixels, those of the border beyond it."""
    where = [pixels[:, 1], pixels[:, 0]]
    return np.column_stack(
        [map_coordinates(photo[..., c], where, order=1, mode="nearest") for c in range(photo.shape[2])]
    )


def _inside(photo: Floats, pixels: Floats) -> Bools:
    height, width = photo.shape[:2]
    return np.asarray((pixels > 0).all(axis=1) & (pixels < [width - 1, height - 1]).all(axis=1))
