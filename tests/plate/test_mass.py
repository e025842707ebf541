"""Volumes and masses against shapes whose volume is known."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
import shapely

from meshes.arch import Arch, SurfacePoints, flat_arch
from meshes.cells import cut_into_cells
from meshes.edge import edge_through
from meshes.graduation import Graduation, uniform_graduation
from meshes.outline import Outline, make_outline
from solver.core.arrays import Floats
from solver.plate.bar import Bar
from solver.plate.mass import bar_mass, bar_volume, plate_mass, wood_volume
from solver.plate.plate import Plate
from solver.plate.species import find_species, wood_of

SPRUCE = replace(wood_of(find_species("Sitka spruce", "test"), {}, "test"), density=400.0)
RADIUS = 0.1


def disc(radius: float = RADIUS) -> Outline:
    angle = 2 * np.pi * np.arange(90) / 90
    return make_outline(
        edge_through(radius * np.stack([np.cos(angle), np.sin(angle)], axis=1), "outline", np.array([], int))
    )


@dataclass(frozen=True)
class Sphere:
    """The upper part of a sphere of radius R [m]."""

    R: float

    def at(self, points: Floats) -> SurfacePoints:
        z = np.sqrt(self.R**2 - (points**2).sum(axis=1))
        gradient = -points / z[:, None]
        hessian = -(np.eye(2) + gradient[:, :, None] * gradient[:, None, :]) / z[:, None, None]
        return SurfacePoints(z, gradient, hessian)


def test_flat_disc_is_area_times_thickness() -> None:
    volume = wood_volume(disc(), flat_arch(), uniform_graduation(3e-3))
    assert volume == pytest.approx(np.pi * RADIUS**2 * 3e-3, rel=1e-5)


@pytest.mark.parametrize("R", [0.5, 0.15])
def test_spherical_shell_is_a_part_of_a_hollow_ball(R: float) -> None:
    # Solid angle 2 pi (1 - cos a) times (R^3 - (R - h)^3) / 3, cut along the normal: exact.
    h = 5e-3
    cosine = np.sqrt(1 - (RADIUS / R) ** 2)
    exact = 2 * np.pi * (1 - cosine) * (R**3 - (R - h) ** 3) / 3
    assert wood_volume(disc(), Sphere(R), uniform_graduation(h)) == pytest.approx(exact, rel=2e-4)


def test_holes_are_no_wood() -> None:
    whole = disc()
    angle = 2 * np.pi * np.arange(40) / 40
    hole = edge_through(0.02 * np.stack([np.cos(angle), np.sin(angle)], axis=1), "hole", np.array([], int))
    cut = make_outline(whole.edge, (hole,))
    missing = wood_volume(whole, flat_arch(), uniform_graduation(3e-3)) - wood_volume(
        cut, flat_arch(), uniform_graduation(3e-3)
    )
    assert missing == pytest.approx(np.pi * 0.02**2 * 3e-3, rel=1e-4)


def bar(start: tuple[float, float], end: tuple[float, float], heights: tuple[float, float]) -> Bar:
    profile = np.array([[0.0, heights[0]], [1.0, heights[1]]])
    return Bar(np.array(start), np.array(end), 5.5e-3, profile, SPRUCE)


def test_bar_on_a_flat_plate_is_a_wedge() -> None:
    slanted = bar((-0.05, 0.01), (0.06, -0.01), (4e-3, 12e-3))
    exact = slanted.length * 5.5e-3 * 8e-3  # between two heights the cubic is a straight line
    assert bar_volume(slanted, flat_arch(), uniform_graduation(3e-3)) == pytest.approx(exact, rel=1e-4)


def test_bar_begins_where_the_plate_ends() -> None:
    # A bar as a ring inside a hollow ball: its layer lies between R - h - b and R - h.
    R, h, b = 0.15, 3e-3, 10e-3
    short = bar((-2e-3, 0.0), (2e-3, 0.0), (b, b))
    mean_share = ((R - h) ** 3 - (R - h - b) ** 3) / (3 * R**2)  # volume per area of the outer surface
    surface = Sphere(R).at(np.zeros((1, 2)))
    assert surface.gradient.max() == 0.0
    area = 4e-3 * 5.5e-3
    assert bar_volume(short, Sphere(R), uniform_graduation(h)) == pytest.approx(area * mean_share, rel=3e-4)


def test_mass_is_volume_times_density_bar_included() -> None:
    maple = replace(SPRUCE, density=700.0)
    glued = replace(bar((-0.05, 0.01), (0.06, -0.01), (8e-3, 8e-3)), wood=maple)
    plate = plate_on(disc(), flat_arch(), uniform_graduation(3e-3), glued)
    without = replace(plate, bar=None)
    assert plate_mass(without) == pytest.approx(400 * np.pi * RADIUS**2 * 3e-3, rel=1e-5)
    assert bar_mass(plate) == pytest.approx(700 * glued.length * 5.5e-3 * 8e-3, rel=1e-4)
    assert plate_mass(plate) - plate_mass(without) == pytest.approx(bar_mass(plate))
    assert bar_mass(without) == 0.0


def plate_on(outline: Outline, arch: Arch, graduation: Graduation, bar: Bar | None) -> Plate:
    return Plate("Disc", "panel", outline, arch, graduation, SPRUCE, bar)


def test_cells_cover_the_plan_exactly_and_integrate_with_second_order() -> None:
    plan = shapely.Polygon([(0, 0), (0.31, 0.02), (0.22, 0.2)], [[(0.15, 0.05), (0.2, 0.05), (0.2, 0.1)]])

    def inertia(step: float) -> float:
        cells = cut_into_cells(plan, step)
        assert cells.areas.sum() == pytest.approx(plan.area, rel=1e-12)
        return float(cells.areas @ cells.points[:, 0] ** 2)

    # Exact for a triangle a, b, c: area/12 (a^2 + b^2 + c^2 + (a + b + c)^2).
    def triangle(a: float, b: float, c: float, area: float) -> float:
        return area / 12 * (a * a + b * b + c * c + (a + b + c) ** 2)

    exact = triangle(0, 0.31, 0.22, shapely.Polygon(plan.exterior).area) - triangle(0.15, 0.2, 0.2, 0.00125)
    coarse, fine = abs(inertia(0.02) - exact), abs(inertia(0.005) - exact)
    assert fine < 1e-4 * exact
    assert coarse / fine == pytest.approx(16, rel=0.15)
