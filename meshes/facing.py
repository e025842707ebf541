"""Triangles that all show the same side."""

import numpy as np

from solver.core.arrays import Floats, Ints


def facing_up(points: Floats, triangles: Ints) -> Ints:
    """Return the triangles (t, 3), each turned so that its corners run anticlockwise seen from above.

    ``points`` (n, 2) or (n, 3) [m]; x and y decide. Light, cut edges and volumes depend on the sense of turning.
    """
    a, b, c = (points[triangles[:, corner], :2] for corner in range(3))
    turn = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    return np.where((turn < 0)[:, None], triangles[:, ::-1], triangles)
