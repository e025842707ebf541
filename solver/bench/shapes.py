"""The shapes of the tones as the page moves them."""

import base64

import numpy as np

from solver.bench.drawn_told import Shapes
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.modal.modes import Modes


def shapes_as_json(modes: Modes) -> Shapes:
    """Return the surface at rest [mm] and its motion in each mode, the largest 1, as little-endian numbers in base64."""
    largest = np.linalg.norm(modes.displacement, axis=2).max(axis=1)
    return {
        "points": len(modes.points),
        "at_rest_mm": _packed(modes.points / MM),
        "normals": _packed(modes.normals),
        "triangles": base64.b64encode(modes.triangles.astype("<u4").tobytes()).decode(),
        "motion": [_packed(m / size) for m, size in zip(modes.displacement, largest, strict=True)],
        "outward": [_packed(m / np.abs(m).max()) for m in modes.normal_motion],
    }


def _packed(values: Floats) -> str:
    return base64.b64encode(values.astype("<f4").tobytes()).decode()
