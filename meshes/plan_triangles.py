"""Straight triangles between the edges of a plate. The only door to gmsh, which is given a limit of time."""

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import ModuleType

import numpy as np

from meshes.edge_sizes import GRADING
from solver.core.arrays import Bools, Floats, Ints
from solver.core.errors import InputError

MOST_SECONDS = 30.0
"""Processor time for one mesh; usual ones take a fifth of a second."""

_WAIT = 0.05
_ANY_SIZE = 1e3
_ONE_AT_A_TIME = threading.Lock()
"""gmsh has one state for the whole program."""

_CURE = (
    "gmsh: a system library it needs is missing ({reason}); expected a machine with GL and X client libraries; "
    "on Debian or Ubuntu run: apt-get install libglu1-mesa libgl1 libxcursor1 libxft2 libxinerama1 libgomp1"
)


class EndlessMeshError(Exception):
    """The mesh was not made in its time."""


def plan_triangles(rings: list[Floats], strip: Floats | None, size: float) -> tuple[Floats, Ints, Bools]:
    """Return points (n, 2) [m], triangles (t, 3) between the rings, and which of them (t,) lie in the strip.

    The rings' points come first, in their order; then those of ``strip`` (l, w, 2), a grid over the bar's footprint.
    Triangles grow by a fixed slope from the rings' sides to ``size`` [m].

    Raises
    ------
    EndlessMeshError
        If it takes more than ``MOST_SECONDS`` of processor time.
    InputError
        If gmsh lacks a system library.
    """
    loops = rings if strip is None else [*rings, _round(strip)]
    if not _ONE_AT_A_TIME.acquire(timeout=MOST_SECONDS):
        raise EndlessMeshError
    answer: list[tuple[Floats, Ints] | Exception] = []
    given_up = threading.Event()

    def make() -> None:
        try:
            answer.append(_between(loops, size, given_up))
        except Exception as failed:
            answer.append(failed)
        finally:
            _ONE_AT_A_TIME.release()

    maker = threading.Thread(target=make, daemon=True)
    begun = time.process_time()
    maker.start()
    while maker.is_alive():
        maker.join(_WAIT)
        if time.process_time() - begun > MOST_SECONDS:
            given_up.set()
            raise EndlessMeshError
    if isinstance(answer[0], Exception):
        raise answer[0]
    points, triangles = answer[0]
    return _with_strip(points, triangles, strip, sum(len(r) for r in rings))


def _with_strip(
    points: Floats, triangles: Ints, strip: Floats | None, first: int
) -> tuple[Floats, Ints, Bools]:
    """Add the triangles inside the strip, whose rim is numbered from ``first``, and the points within it."""
    if strip is None:
        return points, triangles, np.zeros(len(triangles), bool)
    shape = strip.shape[:2]
    number = np.full(shape, -1)
    rim = _round_index(shape)
    number[rim] = first + np.arange(len(rim[0]))
    inner = number < 0
    number[inner] = len(points) + np.arange(inner.sum())
    a, b, c, d = (
        number[i : shape[0] - 1 + i, j : shape[1] - 1 + j].ravel()
        for i, j in ((0, 0), (1, 0), (1, 1), (0, 1))
    )
    inside = np.vstack([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    in_bar = np.repeat([True, False], [len(inside), len(triangles)])
    return np.vstack([points, strip[inner]]), np.vstack([inside, triangles]), in_bar


def _round_index(shape: tuple[int, int]) -> tuple[Ints, Ints]:
    """Rows and columns of a grid's rim, once round."""
    n, m = shape
    rows = [np.arange(n - 1), np.full(m - 1, n - 1), np.arange(n - 1, 0, -1), np.zeros(m - 1, int)]
    columns = [np.zeros(n - 1, int), np.arange(m - 1), np.full(n - 1, m - 1), np.arange(m - 1, 0, -1)]
    return np.concatenate(rows), np.concatenate(columns)


def _round(strip: Floats) -> Floats:
    return np.asarray(strip[_round_index((strip.shape[0], strip.shape[1]))])


@contextmanager
def _gmsh() -> Iterator[ModuleType]:
    """Lend gmsh, quiet and clean, and close it again."""
    try:
        import gmsh
    except OSError as missing:
        raise InputError(_CURE.format(reason=missing)) from missing
    gmsh.initialize(interruptible=False, readConfigFiles=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.option.setNumber("General.NumThreads", 1)
        gmsh.option.setNumber("Mesh.Algorithm", 6)
        gmsh.option.setNumber("Mesh.MeshSizeExtendFromBoundary", 0)
        yield gmsh
    finally:
        gmsh.finalize()


def _between(loops: list[Floats], size: float, given_up: threading.Event) -> tuple[Floats, Ints]:
    """Triangulate inside the first loop and outside the others; the loops' points come first.

    Once it is given up, every triangle is small enough, so that gmsh comes to its end.
    """
    with _gmsh() as gmsh:
        gmsh.model.add("plate")
        geo = gmsh.model.geo
        geo.addPlaneSurface([_add_loop(geo, loop) for loop in loops])
        geo.synchronize()
        gmsh.model.mesh.setSizeCallback(_graded_size(loops, size, given_up))
        gmsh.model.mesh.generate(2)
        tags, coordinates, _ = gmsh.model.mesh.getNodes()
        corners = gmsh.model.mesh.getElementsByType(2)[1]
    order = np.argsort(tags)
    row = np.zeros(int(tags.max()) + 1, dtype=int)
    row[tags[order]] = np.arange(len(tags))
    return coordinates.reshape(-1, 3)[order, :2], row[corners.astype(int)].reshape(-1, 3)


def _graded_size(
    loops: list[Floats], size: float, given_up: threading.Event
) -> Callable[[int, int, float, float, float, float], float]:
    """Return gmsh's size function: it grows by a fixed slope from the pieces that the edges were cut into."""
    steps = np.concatenate([np.linalg.norm(np.roll(r, -1, axis=0) - r, axis=1) for r in loops])
    middles = np.vstack([0.5 * (r + np.roll(r, -1, axis=0)) for r in loops])

    def wished(_dim: int, _tag: int, x: float, y: float, _z: float, _given: float) -> float:
        if given_up.is_set():
            return _ANY_SIZE
        reach = np.hypot(middles[:, 0] - x, middles[:, 1] - y)
        return float(min(size, (steps + GRADING * reach).min()))

    return wished


def _add_loop(geo: ModuleType, points: Floats) -> int:
    tags = [geo.addPoint(x, y, 0.0) for x, y in points]
    lines = [geo.addLine(a, b) for a, b in zip(tags, tags[1:] + tags[:1], strict=True)]
    for line in lines:
        geo.mesh.setTransfiniteCurve(line, 2)
    return int(geo.addCurveLoop(lines))
