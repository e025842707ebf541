"""A plate and its shapes given by formula, so that what a picture must show of them is known beforehand.

An ellipse with its long axis along x, arched, with two round holes and a slanted bar. In u = x/a, v = y/b the shapes
are a twist, a bend across, one without a number, and a ring.
"""

from collections.abc import Callable
from functools import cache

import numpy as np

from meshes.arch import Arch, arch_from_function
from meshes.graduation import Graduation
from meshes.outline import Edge, Outline, edge_through, make_outline
from meshes.smooth_map import map_of_function
from solver.core.arrays import Floats, Ints
from solver.modal.modes import Modes
from solver.plate.bar import Bar
from solver.plate.mode_label import NUMBERS
from solver.plate.plate import Plate, Role
from solver.plate.wood import Wood
from solver.viewer.solid import point_normals

A, B, RISE = 0.178, 0.105, 0.0155
BOUNDS = (-1.2 * A, -1.2 * B, 1.2 * A, 1.2 * B)
TITLE = "Plain ellipse"
SHAPES: dict[str | None, Callable[[Floats, Floats], Floats]] = {
    "1": lambda u, v: u * v,
    "2": lambda u, v: 0.6 * v**2 - u**2 + 0.25,
    None: lambda u, v: u**3 - 0.55 * u + 0.3 * v**2,
    "5": lambda u, v: 0.45 - u**2 - v**2,
}
PARTS = {"1": (2, 2), "2": (1, 2), None: (1, 2), "5": (1, 1)}
"""How many parts of the plate move out and in, read off the formulas (and of the third, off its contour plot)."""

WOOD = Wood(400.0, 11e9, 0.8e9, 0.5e9, 0.7e9, 0.7e9, 0.035e9, 0.37, 0.47, 0.44)
BAR = Bar(
    np.array([-0.12, 0.012]),
    np.array([0.13, 0.02]),
    0.0055,
    np.array([[0, 2], [0.5, 12], [1, 2]]) * [1, 1e-3],
    WOOD,
)


def ellipse(centre: tuple[float, float], half: tuple[float, float], name: str) -> Edge:
    angle = 2 * np.pi * np.arange(48) / 48
    return edge_through(np.array(centre) + half * np.stack([np.cos(angle), np.sin(angle)], axis=1), name)


@cache
def plain_outline() -> Outline:
    holes = [ellipse((-0.02, y), (0.009, 0.009), name) for name, y in (("bass", 0.05), ("treble", -0.05))]
    return make_outline(ellipse((0.0, 0.0), (A, B), "outline"), holes)


def height(points: Floats) -> Floats:
    u, v = points[:, 0] / A, points[:, 1] / B
    return np.asarray(RISE * np.clip(1 - u**2 - v**2, 0.0, None) ** 2)


def thickness(points: Floats) -> Floats:
    """2.4 mm at the lower end to 3.2 mm at the upper."""
    return np.asarray(0.0028 + 0.0004 * points[:, 0] / A)


@cache
def plain_arch() -> Arch:
    return arch_from_function(height, BOUNDS)


def readings(spacing: float) -> Floats:
    """Caliper readings (n, 3) [m] in rows ``spacing`` apart, on all but the upper third of the plate."""
    x, y = np.meshgrid(np.arange(-A, 0.4 * A, spacing), np.arange(-B, B, spacing), indexing="ij")
    points = np.stack([x.ravel(), y.ravel()], axis=1)
    points = points[plain_outline().contains(points)]
    return np.column_stack([points, np.round(thickness(points), 5)])


def measured(spacing: float = 0.03) -> Graduation:
    """The graduation by formula, said to rest on readings within 40 mm of them."""
    return Graduation(map_of_function(thickness, BOUNDS, 0.01), readings(spacing), reach=0.04)


def uniform() -> Graduation:
    return Graduation(map_of_function(lambda points: np.full(len(points), 0.0026), BOUNDS, 0.01))


def plain_plate(role: Role = "top", graduation: Graduation | None = None, arch: Arch | None = None) -> Plate:
    return Plate(TITLE, role, plain_outline(), arch or plain_arch(), graduation or measured(), WOOD, BAR)


def plain_modes(count: int = 4, rings: int = 24, spokes: int = 96) -> Modes:
    """The shapes over and over at 100, 150, 200 Hz and so on, on a mesh of the ellipse without its holes."""
    disc, triangles = disc_mesh(rings, spokes)
    plan = disc * [A, B]
    points = np.column_stack([plan, height(plan)])
    normals = point_normals(points, triangles)
    names = [list(SHAPES)[i % len(SHAPES)] for i in range(count)]
    fields = np.zeros((count, len(points), 5))
    for field, name in zip(fields, names, strict=True):
        field[:, :3] = SHAPES[name](disc[:, 0], disc[:, 1])[:, None] * normals
    hz = np.linspace(100.0, 50.0 + 50.0 * count, count)
    amplitudes = np.array([[float(name == number) for number in NUMBERS] for name in names])
    return Modes(
        hz,
        tuple(names),
        points,
        normals,
        triangles,
        thickness(plan),
        fields,
        np.zeros(6),
        0.07,
        {},
        amplitudes,
    )


def disc_mesh(rings: int, spokes: int) -> tuple[Floats, Ints]:
    """Points (n, 2) of the unit disc in rings round the middle, and the triangles (t, 3) between them."""
    angle = 2 * np.pi * (np.arange(spokes) + 0.5) / spokes
    circle = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    radius = np.arange(1, rings + 1) / rings
    points = np.vstack([[[0.0, 0.0]], (radius[:, None, None] * circle).reshape(-1, 2)])
    here = 1 + np.arange(spokes)
    after = np.roll(here, -1)
    parts = [np.stack([np.zeros(spokes, int), here, after], axis=1)]
    for inner in spokes * np.arange(rings - 1):
        a, b, c, d = here + inner, here + inner + spokes, after + inner + spokes, after + inner
        parts += [np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)]
    return points, np.vstack(parts)
