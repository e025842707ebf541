"""What can be wrong with readings taken at places on a plate, said by place."""

import numpy as np
import shapely

from meshes.outline import Outline
from solver.core.arrays import Bools, Floats, Ints
from solver.core.errors import InputError
from solver.core.units import MM

SAME_PLACE = 1.0 * MM
"""Readings nearer together than this are of one place: nobody sets a caliper down more exactly."""


def place(point: Floats) -> str:
    """Return the words for a plan point (2,) [m]."""
    x, y = (round(float(v) / MM, 1) + 0.0 for v in point[:2])  # + 0.0 makes no -0.0 of it
    return f"x = {x:.1f} mm, y = {y:.1f} mm"


def check_enough(kind: str, readings: Floats, least: int) -> None:
    """Refuse fewer than ``least`` readings (n, 3) [m], and such as are no numbers."""
    if len(readings) < least:
        raise InputError(
            f"{kind}: there are {len(readings)} readings; expected at least {least}, spread over the plate. "
            "Take more."
        )
    if not np.all(np.isfinite(readings)):
        row = int(np.flatnonzero(~np.isfinite(readings).all(axis=1))[0])
        raise InputError(
            f"{kind}: reading {row + 1} holds something that is no number; expected x, y and the reading. "
            "Measure it, or take it out."
        )


def check_spread(kind: str, readings: Floats) -> None:
    """Refuse readings (n, 3) [m] that all lie along one line: they say nothing of the plate beside it."""
    across = np.linalg.svd(readings[:, :2] - readings[:, :2].mean(axis=0), compute_uv=False)[1]
    if across < 1 * MM * np.sqrt(len(readings)):
        raise InputError(
            f"{kind}: all readings lie along one line; expected them spread over the plate. "
            "Take some to both sides of it."
        )


def beyond_edge(readings: Floats, outline: Outline) -> Floats:
    """Return how far (n,) [m] each reading lies outside the outer edge; 0 inside and in the holes."""
    rim = shapely.Polygon(outline.polygon.exterior)
    shapely.prepare(rim)
    return np.asarray(shapely.distance(rim, shapely.points(readings[:, :2])), dtype=np.float64)


def check_consistent(kind: str, readings: Floats, allowed: float, steepest: float) -> None:
    """Refuse two readings of one place that differ by more than ``allowed`` [m].

    ``steepest`` is the greatest slope of what is read: places apart by d may differ by steepest * d more.
    """
    from scipy.spatial import cKDTree

    pairs = cKDTree(readings[:, :2]).query_pairs(SAME_PLACE, output_type="ndarray")
    if not len(pairs):
        return
    first, second = readings[pairs[:, 0]], readings[pairs[:, 1]]
    apart = np.linalg.norm(first[:, :2] - second[:, :2], axis=1)
    excess = np.abs(first[:, 2] - second[:, 2]) - allowed - steepest * apart
    worst = int(np.argmax(excess))
    if excess[worst] > 1e-9:
        a, b = sorted((float(first[worst, 2]), float(second[worst, 2])))
        raise InputError(
            f"{kind}: two readings at {place(first[worst])} are {a / MM:.2f} and {b / MM:.2f} mm; expected them to "
            f"agree within {allowed / MM:.2f} mm. Measure there again and keep one."
        )


def one_per_place(readings: Floats) -> Floats:
    """Return the readings (k, 3) [m] with those of one place replaced by their mean, in the order given."""
    from scipy.spatial import cKDTree

    tree = cKDTree(readings[:, :2])
    near = tree.query_ball_tree(tree, SAME_PLACE)
    free = np.ones(len(readings), dtype=np.bool_)
    merged = []
    for i, around in enumerate(near):
        if free[i]:
            group = [j for j in around if free[j]]
            free[group] = False
            merged.append(readings[group].mean(axis=0))
    return np.array(merged)


def spacing(readings: Floats) -> float:
    """Return the usual distance [m] from a reading (n, 3) to the nearest other one."""
    return float(np.median(neighbours(readings, 1)[0]))


def neighbours(readings: Floats, count: int) -> tuple[Floats, Ints]:
    """Return the distances [m] and the indices (n, count) of the nearest other readings of each."""
    from scipy.spatial import cKDTree

    distance, index = cKDTree(readings[:, :2]).query(readings[:, :2], k=count + 1)
    return np.asarray(distance, np.float64)[:, 1:], np.asarray(index, np.int64)[:, 1:]


def against_neighbours(readings: Floats, base: float, steepest: float) -> Bools:
    """Tell which readings (n, 3) [m] differ from most of their neighbours more than a plate can.

    Two readings apart by d may differ by ``base`` + ``steepest`` * d; a reading is doubtful if it does not
    agree with most of its six nearest neighbours.
    """
    distance, index = neighbours(readings, min(6, len(readings) - 1))
    jump = np.abs(readings[index, 2] - readings[:, None, 2]) > base + steepest * distance
    return np.asarray(2 * jump.sum(axis=1) > jump.shape[1])
