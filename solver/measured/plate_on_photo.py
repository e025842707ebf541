"""The plate found on a photo: by its edge, or by places that the maker points out."""

from scipy.ndimage import zoom

from solver.core.errors import InputError
from solver.measured.photo_edges import edge_distances
from solver.measured.photo_file import Photo
from solver.measured.plate_form import PlateForm
from solver.measured.pose_fit import PoseFit, fitted_pose, roughly_fitted, softened
from solver.measured.pose_search import likely_cameras

_SMALL = 400.0
"""Longer side [pixels] of the copy on which the plate is looked for."""

_LEAST_SEEN = 0.8
_LEAST_CONTRAST = 0.05
_MOST_LEAN = 40.0
"""Degrees off the upright from which a plate is still read."""

_KEPT = 3
"""Of the places that the edge was roughly fitted to so many are fitted exactly."""

_AS_CLEAR = 0.5
"""Of several places that fit, those with less than this share of the clearest one's contrast count less."""


def found_by_edge(photo: Photo, form: PlateForm, name: str) -> PoseFit:
    """Return the camera from which the plate's edge is where the photo has it.

    Raises
    ------
    InputError
        If less than four fifths of the edge can be seen anywhere.
    """
    shrink = min(1.0, _SMALL / max(photo.colours.shape[:2]))
    edges = edge_distances(zoom(photo.colours, (shrink, shrink, 1), order=1, grid_mode=True, mode="nearest"))
    even = any(turn[2, 2] < 0 for turn, _ in form.look_alikes)
    cameras = likely_cameras(edges, form, not even, photo.focal * shrink)
    soft = softened(photo.colours)
    rough = [roughly_fitted(soft, form, camera.scaled(1 / shrink)) for camera in cameras]
    likely = sorted(rough, key=lambda fit: -fit.seen)[:_KEPT]
    fits = [fitted_pose(soft, form, fit.camera) for fit in likely]
    good = [fit for fit in fits if _is_plate(fit)]
    if not good:
        raise InputError(
            f"{name}: the edge of the plate cannot be found; expected the whole plate from above on a bench of another "
            "colour, at most a hand or a block over its edge. Photograph it so, or point out four places with --landmark."
        )
    clearest = max(fit.contrast for fit in good)

    def rank(fit: PoseFit) -> float:
        """A larger plate goes before a smaller one: what fits inside a plate are its own lines."""
        size = fit.camera.focal / float(fit.camera.shift[2])
        return fit.seen * min(1.0, fit.contrast / (_AS_CLEAR * clearest)) * size

    return max(good, key=rank)


def _is_plate(fit: PoseFit) -> bool:
    return fit.seen >= _LEAST_SEEN and fit.contrast >= _LEAST_CONTRAST and fit.camera.lean_deg <= _MOST_LEAN
