"""How evenly a mode lies about the centre line, by its node lines and by what they enclose."""

from dataclasses import dataclass

import numpy as np
import shapely

from solver.core.arrays import Floats
from solver.core.units import MM
from solver.modal.modes import Modes
from solver.modal.node_lines import node_lines

_STEP = 1.0 * MM


@dataclass(frozen=True)
class RingShares:
    """Share [-] of the left and of the right half of the plate that moves with its middle."""

    left: float
    right: float


def off_mirror(modes: Modes, index: int) -> float:
    """Return how far [m] the node lines of a mode lie from their mirror image about the centre line; nan if it has none.

    The mean along the lines of the distance to the nearest point of the image: nought for even lines.
    """
    lines = node_lines(modes, index)
    if not lines:
        return float("nan")
    points = np.concatenate([_points_along(line) for line in lines])
    image = shapely.points(points * [1.0, -1.0])
    return float(shapely.distance(image, shapely.MultiLineString(lines)).mean())


def ring_shares(modes: Modes, index: int) -> RingShares:
    """Return how much of either half of the plate moves with its middle; of mode 5, what lies inside the ring.

    Counts also where the ring is open, as it is where its line runs out at an edge. The motion is taken as linear on the
    flat triangles between the nodes, of which a part ``p^2 / ((p - q)(p - r))`` moves as its corner p if q and r move the
    other way.
    """
    motion, corners = modes.normal_motion[index], modes.points[modes.triangles][:, :, :2]
    sides = corners[:, 1:] - corners[:, :1]
    areas = 0.5 * np.abs(np.linalg.det(sides))
    centres = corners.mean(axis=1)
    middle = areas @ centres / areas.sum()
    inward = np.sign(motion[np.linalg.norm(modes.points[:, :2] - middle, axis=1).argmin()])
    inside = areas * _part_above_nought(inward * motion[modes.triangles])
    left = centres[:, 1] > 0
    return RingShares(
        float(inside[left].sum() / areas[left].sum()), float(inside[~left].sum() / areas[~left].sum())
    )


def _part_above_nought(values: Floats) -> Floats:
    """Return the part (t,) of each triangle on which a linear function with corner ``values`` (t, 3) is above nought."""
    above = (values > 0).sum(axis=1)
    alone = np.where(above == 1, values.argmax(axis=1), values.argmin(axis=1))
    p, q, r = (np.take_along_axis(values, ((alone + i) % 3)[:, None], axis=1)[:, 0] for i in range(3))
    cut = p**2 / np.maximum(np.abs((p - q) * (p - r)), np.finfo(float).tiny)
    return np.select([above == 3, above == 2, above == 1], [np.ones(len(p)), 1 - cut, cut], 0.0)


def _points_along(line: Floats) -> Floats:
    """Points (n, 2) [m] evenly along a polyline (p, 2), about 1 mm apart."""
    drawn = shapely.LineString(line)
    steps = max(1, round(drawn.length / _STEP))
    places = (np.arange(steps) + 0.5) / steps
    return np.asarray(shapely.get_coordinates(drawn.interpolate(places, normalized=True)))
