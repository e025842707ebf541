"""Plates with random sound holes, drawn exactly and then traced as a maker would."""

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Literal

import numpy as np
import shapely
from scipy.interpolate import CubicSpline

from meshes.edge import Edge
from meshes.edge_files.csv import read_edge
from meshes.stock_holes import stock_holes
from meshes.stock_outline import stock_outline
from solver.core.arrays import Floats
from solver.core.units import MM
from tests.meshes.plates import HALF_VIOLIN

OUTLINES = ("stock", "other", "narrow", "cello", "square", "oval")
HOLES = ("S", "S", "S", "S", "stock", "C", "slot")
SPACINGS_MM = (0.5, 1.0, 1.7, 2.5, 4.0, 6.0)
_LEAST_WOOD = 2.0


@dataclass(frozen=True, eq=False)
class Drawn:
    """A plate as it truly is [mm]: what it is, its length, the corners' outline, both holes, how they are traced."""

    kind: str
    length: float
    outline: Edge
    holes: tuple[shapely.Polygon, shapely.Polygon]
    spacing: float
    noise: float
    doubled: bool


def drawn(rng: np.random.Generator) -> Drawn:
    """A random plate whose holes leave 2 mm of wood to its edge and its bar."""
    while True:
        outline = str(rng.choice(OUTLINES))
        length, edge = _outline(outline, rng)
        rim = shapely.Polygon(edge.sampled(0.5 * MM) / MM)
        kind = str(rng.choice(HOLES))
        try:
            bass = _hole(kind, length, rng)
            treble = shapely.affinity.scale(
                bass if rng.random() < 0.7 else _hole(kind, length, rng), 1, -1, origin=(0, 0)
            )
        except ValueError:
            continue
        if all(
            rim.buffer(-_LEAST_WOOD).contains(hole) and hole.distance(_bar(length)) > 1
            for hole in (bass, treble)
        ):
            spacing = float(rng.choice(SPACINGS_MM))
            noise = float(rng.choice([0.0, 0.0, 0.03, 0.08])) * min(1.0, spacing)
            return Drawn(
                f"{outline} with {kind}",
                length,
                edge,
                (bass, treble),
                spacing,
                noise,
                bool(rng.random() < 0.2),
            )


def traced(
    plate: Drawn, folder: Path, rng: np.random.Generator, spacing: float | None = None
) -> tuple[Edge, Edge]:
    """The holes read from files of points so far apart, from a random start, either way round; finely if so asked."""
    bass, treble = (
        _read(hole, folder / f"{name}.csv", plate, rng, spacing)
        for hole, name in zip(plate.holes, ("bass", "treble"), strict=True)
    )
    return bass, treble


def _read(
    hole: shapely.Polygon, path: Path, plate: Drawn, rng: np.random.Generator, spacing: float | None
) -> Edge:
    step, noise = (plate.spacing, plate.noise) if spacing is None else (spacing, 0.0)
    ring = hole.exterior
    count = max(6, round(ring.length / step))
    at = (np.arange(count) / count + rng.random()) % 1.0
    points = shapely.get_coordinates(shapely.line_interpolate_point(ring, at, normalized=True))
    points = points + noise * rng.standard_normal(points.shape)
    if rng.random() < 0.5:
        points = points[::-1]
    rows = [f"{x:.3f},{y:.3f}" for x, y in points]
    if plate.doubled:
        rows.insert(count // 2, rows[count // 2])
    if rng.random() < 0.5:
        rows.append(rows[0])
    path.write_text("x_mm,y_mm\n" + "\n".join(rows) + "\n")
    return read_edge(path, path.stem)


def _outline(kind: str, rng: np.random.Generator) -> tuple[float, Edge]:
    """Length [mm] and outline, with a little change in its proportions."""
    stretch = rng.uniform(0.94, 1.06, 2)
    if kind == "oval":
        t = np.linspace(0, 2 * np.pi, 60, endpoint=False)
        half = np.column_stack([178 + 178 * np.sign(np.cos(t)) * np.abs(np.cos(t)) ** 0.8, 95 * np.sin(t)])
        return 356.0 * stretch[0], Edge(half * stretch * MM, np.zeros(0, int))
    if kind == "square":
        side = [
            (0, 80),
            (30, 92),
            (70, 100),
            (120, 92),
            (150, 72),
            (185, 60),
            (215, 68),
            (250, 80),
            (300, 82),
            (350, 70),
        ]
        half = np.array(side, float)
        points = np.vstack([half * [1, -1], half[::-1]]) * stretch
        return 350.0 * stretch[0], Edge(points * MM, np.array([0, 9, 10, 19]))
    if kind == "other":
        left = np.array([point for part in HALF_VIOLIN for point in part], dtype=float) * stretch
        knots = np.vstack([left[1:-1] * [1, -1], left[::-1]])
        corners = np.flatnonzero(np.isin(np.round(knots[:, 0] / stretch[0]), (137, 232)))
        return 355.0 * stretch[0], Edge(knots * MM, corners)
    length, width = {"stock": (355, 206), "narrow": (350, 188), "cello": (750, 435)}[kind] * stretch
    return float(length), stock_outline(length * MM, width * MM).edge


def _bar(length: float) -> shapely.Polygon:
    """Where a bar lies [mm], half a millimetre wider."""
    return shapely.LineString(length / 355 * np.array([[45.0, 18.0], [313.0, 12.5]])).buffer(
        length / 355 * 2.75 + 0.5, cap_style="flat"
    )


def _hole(kind: str, length: float, rng: np.random.Generator) -> shapely.Polygon:
    """A hole on the bass side [mm]."""
    place, detail = length / 355, (length / 355) ** 0.7
    upper = place * (np.array([188.0, 26.0]) + rng.uniform(-4, 4, 2))
    lower = place * (np.array([128.0, 52.0]) + rng.uniform(-4, 4, 2))
    if kind == "S":
        return s_hole(upper, lower, detail, rng)
    if kind == "stock":
        edge = stock_holes(length * MM, length * MM * rng.uniform(0.55, 0.62))[0]
        return shapely.Polygon(edge.sampled(0.05 * MM) / MM)
    if kind == "C":
        bend = rng.uniform(4, 9) * place * rng.choice([-1, 1])
        spine = _curve(np.vstack([upper, 0.5 * (upper + lower) + bend * np.array([0.4, 0.9]), lower]))
        return shapely.LineString(spine).buffer(detail * rng.uniform(1.0, 3.2), quad_segs=24)
    ends: tuple[Literal["round"], Literal["flat"]] = ("round", "flat")
    width = detail * rng.uniform(0.8, 2.5)
    return shapely.LineString([upper, lower]).buffer(
        width, cap_style=ends[int(rng.integers(2))], quad_segs=24
    )


def s_hole(upper: Floats, lower: Floats, detail: float, rng: np.random.Generator) -> shapely.Polygon:
    """An S that hooks round its eyes; between hook, eye and stem stays a tongue of wood 1 mm wide or more."""
    way = (lower - upper) / np.linalg.norm(lower - upper)
    axes = np.vstack([way, [way[1], -way[0]]])
    eyes = detail * rng.uniform(2.6, 4.4, 2)
    stem, neck = detail * rng.uniform(1.6, 3.6), detail * rng.uniform(0.7, 1.3)
    tongues = detail * rng.uniform(1.0, 5.0, 2)
    runs = [_hook(eye, tongue, stem, neck, rng) for eye, tongue in zip(eyes, tongues, strict=True)]
    spine = np.vstack([upper + runs[0] @ axes, (lower - runs[1] @ axes)[::-1]])
    fine = _curve(spine)
    marks = np.linspace(0, 1, len(fine))
    half = neck + (stem - neck) * np.sin(np.pi * marks) ** 0.8
    discs = [shapely.Point(p).buffer(w, quad_segs=12) for p, w in zip(fine, half, strict=True)]
    stroke = shapely.union_all([shapely.union_all([a, b]).convex_hull for a, b in pairwise(discs)])
    holes = [
        stroke,
        shapely.Point(upper).buffer(eyes[0], quad_segs=24),
        shapely.Point(lower).buffer(eyes[1], quad_segs=24),
    ]
    if rng.random() < 0.7:
        middle = fine[len(fine) // 2]
        out = axes[1] * (half[len(fine) // 2] + detail * rng.uniform(0.6, 1.6))
        holes.append(
            shapely.Polygon([middle + out, middle + detail * way, middle - out, middle - detail * way])
        )
    whole = shapely.union_all(holes)
    if rng.random() < 0.5:
        whole = whole.buffer(0.3).buffer(-0.6).buffer(0.3)
    if not isinstance(whole, shapely.Polygon) or whole.interiors:
        raise ValueError("no hole in one piece")
    return whole


def _hook(eye: float, tongue: float, stem: float, neck: float, rng: np.random.Generator) -> Floats:
    """The spine from an eye round its turn to the stem: on along the way between the eyes, and to its right."""
    out = eye + tongue + 0.8 * stem
    back = -(eye + neck) * rng.uniform(0.7, 1.1)
    return np.array(
        [
            [0.4 * back, 0.0],
            [back, 0.35 * out],
            [0.8 * back, 0.75 * out],
            [0.6 * eye, out],
            [2.4 * eye, 0.9 * out],
        ]
    )


def _curve(points: Floats) -> Floats:
    marks = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1)))
    return np.asarray(CubicSpline(marks, points)(np.linspace(0, marks[-1], 120)))
