"""The reference plates as platewright takes them: exact functions, or a folder on the disk."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from meshes.graduation import graduation_from_function
from meshes.outline import Edge, Outline
from meshes.surface import SurfacePoints
from solver.core.arrays import Floats
from solver.core.units import GPA, MM
from solver.plate.bar import Bar
from solver.plate.plate import Plate
from solver.plate.wood import Wood
from tests.validation.solid.curves import Curve
from tests.validation.solid.jet import plan
from tests.validation.solid.plate import Field, ReferencePlate

EDGE_STEP, HOLE_STEP = 2.0 * MM, 0.4 * MM
"""Distance of the points that stand for an exact edge."""


@dataclass(frozen=True)
class ExactArch:
    """An outer surface given as a formula."""

    formula: Field

    def at(self, points: Floats) -> SurfacePoints:
        """The surface at plan points (n, 2) [m]."""
        z = self.formula(*plan(points))
        return SurfacePoints(z.value, z.gradient, z.hessian)


def edge_of(curve: Curve, step: float, name: str) -> Edge:
    """The same closed edge as a spline through points about ``step`` [m] apart."""
    return Edge(curve.divided(step)[0], curve.corners(step), name)


def as_plate(reference: ReferencePlate, step: float = EDGE_STEP) -> Plate:
    """The same plate for the shell, arch and thickness still the formulas; ``step`` [m] along its edge."""
    holes = tuple(edge_of(hole, HOLE_STEP, f"hole {k + 1}") for k, hole in enumerate(reference.holes))
    outline = Outline(edge_of(reference.edge, step, "outline"), holes)
    return Plate(
        title=reference.name,
        role=reference.role,
        outline=outline,
        arch=ExactArch(reference.arch),
        graduation=graduation_from_function(reference.thickness_at, outline.bounds, step),
        wood=reference.wood,
        bar=reference.bar,
    )


def write_folder(reference: ReferencePlate, folder: Path, grid: float = 5 * MM) -> None:
    """Write the plate as a maker would hand it in: points of the edges, heights and readings on a ``grid`` [m]."""
    (folder / "holes").mkdir(parents=True)
    _write_edge(folder / "outline.csv", reference.edge, EDGE_STEP)
    holes = [f"holes/{k + 1}.csv" for k in range(len(reference.holes))]
    for name, hole in zip(holes, reference.holes, strict=True):
        _write_edge(folder / name, hole, HOLE_STEP)
    points = reading_places(reference, grid)
    heights = reference.surface(points)[0][:, 2:]
    _write_table(folder / "arch.csv", "x_mm,y_mm,z_mm", np.hstack([points, heights]))
    _write_table(
        folder / "thickness.csv",
        "x_mm,y_mm,t_mm",
        np.column_stack([points, reference.thickness_at(points)]),
    )
    bar = "" if reference.bar is None else _bar_text(reference.bar)
    (folder / "plate.toml").write_text(
        f'format = 1\ntitle = "{reference.name}"\nrole = "{reference.role}"\n'
        f'[outline]\nfile = "outline.csv"\nholes = {holes}\n[arch]\nfile = "arch.csv"\n'
        f'[thickness]\nfile = "thickness.csv"\n[wood]\n{_wood_text(reference.wood)}{bar}'
    )


def reading_places(reference: ReferencePlate, grid: float) -> Floats:
    """Points (n, 2) [m] of a square grid on the plate, and of its edge."""
    outline = as_plate(reference).outline.without_holes()
    x0, y0, x1, y1 = outline.bounds
    x, y = np.meshgrid(np.arange(x0 + grid / 2, x1, grid), np.arange(y0 + grid / 2, y1, grid))
    inside = np.column_stack([x.ravel(), y.ravel()])
    return np.vstack([inside[outline.contains(inside)], reference.edge.divided(grid)[0]])


def _write_edge(path: Path, curve: Curve, step: float) -> None:
    """Corners stand twice."""
    points, corners = curve.divided(step)[0], curve.corners(step)
    twice = np.sort(np.concatenate([np.arange(len(points)), corners]))
    closed = np.append(twice, twice[0])
    _write_table(path, "x_mm,y_mm", points[closed])


def _write_table(path: Path, header: str, rows: Floats) -> None:
    np.savetxt(path, rows / MM, fmt="%.5f", delimiter=",", header=header, comments="")


def _wood_text(wood: Wood) -> str:
    moduli = "".join(
        f"{k}_GPa = {getattr(wood, k) / GPA!r}\n" for k in ("EL", "ER", "ET", "GLR", "GLT", "GRT")
    )
    ratios = "".join(f"{k} = {getattr(wood, k)!r}\n" for k in ("nu_LR", "nu_LT", "nu_RT"))
    turned = f"grain_deg = {float(np.degrees(wood.grain))!r}\nring_deg = {float(np.degrees(wood.ring))!r}\n"
    return f"density_kg_m3 = {wood.density!r}\n{moduli}{ratios}{turned}"


def _bar_text(bar: Bar) -> str:
    profile = [[float(f), float(h / MM)] for f, h in bar.profile]
    return (
        f"[bar]\nfrom_mm = {(bar.start / MM).tolist()}\nto_mm = {(bar.end / MM).tolist()}\n"
        f"width_mm = {bar.width / MM!r}\nheight_mm = {profile}\n[bar.wood]\n{_wood_text(bar.wood)}"
    )
