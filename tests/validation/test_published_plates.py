"""The shell against plates and shells whose frequencies are known from outside: published, or by other methods.

"Computed" values were worked out for this project by at least two methods that share nothing with the shell.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

from meshes.triangulate import triangulate
from solver.core.arrays import Floats
from solver.modal.assembly import assemble
from solver.modal.eigen import lowest_modes
from solver.modal.modes import solve_modes
from solver.modal.shell import cubic_mesh
from solver.modal.strains import FIELDS
from tests.validation.panels import cylinder, flat, isotropic, rectangle, saddle, sphere, uniform
from tests.validation.shell_plate import as_plate
from tests.validation.solid.curves import Curve, ellipse
from tests.validation.solid.plate import Field, ReferencePlate
from tests.validation.solid_plates import CAP_RADIUS, SITKA_ARCHED, SITKA_FLAT, SPRUCE_PANEL
from tests.validation.thin_plates import disc_parameters, rectangle_hz

SIDE = 0.2
"""Side of a square and radius of a disc [m]; only ratios matter where the values have no unit."""

THIN = 1e-3
"""Thickness over side at which a plate counts as thin."""

METAL = isotropic(70e9, 0.3, 2700.0)

COMPUTED = "computed"
RITZ = "computed by Ritz, see thin_plates.py"
BARTON = "printed: Barton, J. Appl. Mech. 18 (1951) 129, as test SDLS01 of the VPCS guide"
FV12 = "printed: NAFEMS R0015, test FV12, as quoted by two vendors"
BADIANE = "computed by three methods; within 1 % of Badiane et al., J. Acoust. Soc. Am. 153 (2023) 730, row 0"


@dataclass(frozen=True, eq=False)
class Row:
    """A plate and what is known of it: ``expected`` (k,) is its frequencies [Hz] times ``scale``."""

    name: str
    plate: ReferencePlate
    size: float
    expected: tuple[float, ...]
    percent: float
    source: str
    scale: float = 1.0


def metal_plate(name: str, edge: Curve, arch: Field, thickness: float, nu: float = 0.3) -> ReferencePlate:
    return ReferencePlate(name, edge, arch, uniform(thickness), isotropic(70e9, nu, 2700.0))


def per_hz(side: float, thickness: float, nu: float = 0.3) -> float:
    """``lambda / f = 2 pi a^2 sqrt(rho h / D)`` [s] with ``D = E h^3 / 12 (1 - nu^2)`` for the metal."""
    D = 70e9 * thickness**3 / (12 * (1 - nu**2))
    return float(2 * np.pi * side**2 * np.sqrt(2700.0 * thickness / D))


def square_shell(name: str, arch: Field, curved: tuple[bool, bool]) -> ReferencePlate:
    """A square shell, a/R = 1/2 and a/h = 100, whose middle surface has side a and radius R.

    The outer surface, which our arch is, lies h/2 outside it: where it is curved its sides are longer by h/2R.
    """
    wider = 1.0 + 0.25 * 0.01
    sides = [SIDE * (wider if is_curved else 1.0) for is_curved in curved]
    return metal_plate(name, rectangle(*sides), arch, SIDE / 100)


OUTER = 2 * SIDE + SIDE / 200
"""Radius of the outer surface of the square shells [m]."""

SQUARE = metal_plate("square", rectangle(SIDE, SIDE), flat, THIN * SIDE)
SQUARE_NO_POISSON = metal_plate("square, nu 0", rectangle(SIDE, SIDE), flat, THIN * SIDE, nu=0.0)
LONG = metal_plate("rectangle 1.5", rectangle(1.5 * SIDE, SIDE), flat, THIN * SIDE)
LONGER = metal_plate("rectangle 2.5", rectangle(2.5 * SIDE, SIDE), flat, THIN * SIDE)
DISC = metal_plate("disc", ellipse(SIDE, SIDE), flat, THIN * SIDE)
NAFEMS = ReferencePlate("FV12", rectangle(10.0, 10.0), flat, uniform(0.05), isotropic(200e9, 0.3, 8000.0))
NO_SHEAR = replace(
    SPRUCE_PANEL,
    wood=replace(SPRUCE_PANEL.wood, GLT=1e3 * SPRUCE_PANEL.wood.GLT, GRT=1e3 * SPRUCE_PANEL.wood.GRT),
)
_SQUARE_VALUES = (13.4682, 19.5961, 24.2702, 34.8009, 34.8009, 61.0932, 61.0932, 63.6861, 69.2654)
_SQUARE_SCALE = per_hz(SIDE, THIN * SIDE)

ROWS = (
    Row("square", SQUARE, 0.025, _SQUARE_VALUES, 0.3, RITZ, _SQUARE_SCALE),
    Row("square, Barton", SQUARE, 0.025, (13.49, 19.79, 24.43, 35.02), 1.1, BARTON, _SQUARE_SCALE),
    Row(
        "a/b 1.5", LONG, 0.025, (20.0955, 21.4133, 46.347, 49.910), 0.4, RITZ, per_hz(1.5 * SIDE, THIN * SIDE)
    ),
    Row(
        "a/b 2.5", LONGER, 0.03, (21.4539, 32.989, 59.629, 70.803), 0.4, RITZ, per_hz(2.5 * SIDE, THIN * SIDE)
    ),
    Row(
        "disc",
        DISC,
        0.05,
        (5.3583, 5.3583, 9.0031, 12.4390, 12.4390, 20.4746, 20.4746, 21.8352, 21.8352),
        0.5,
        "computed by Bessel functions, see thin_plates.py",
        _SQUARE_SCALE,
    ),
    Row("FV12", NAFEMS, 1.25, (1.622, 2.360, 2.922), 0.5, FV12),
    Row("FV12, all", NAFEMS, 1.25, (1.622, 2.360, 2.922, 4.1902, 4.1902, 7.3560), 0.7, COMPUTED),
    Row(
        "sphere",
        square_shell("sphere", sphere(OUTER), (True, True)),
        0.025,
        (13.300, 19.845, 36.157, 36.157, 47.776),
        1.0,
        "computed in 3-D",
        per_hz(SIDE, SIDE / 100),
    ),
    Row(
        "cylinder",
        square_shell("cylinder", cylinder(OUTER), (False, True)),
        0.025,
        (13.350, 21.465, 34.017, 48.769),
        1.0,
        "computed in 3-D",
        per_hz(SIDE, SIDE / 100),
    ),
    Row(
        "saddle",
        square_shell("saddle", saddle(2 * SIDE), (False, False)),
        0.025,
        (13.187, 25.381, 37.834, 37.834),
        1.0,
        "computed in 3-D",
        per_hz(SIDE, SIDE / 100),
    ),
    Row(
        "spruce panel",
        SPRUCE_PANEL,
        0.04,
        (52.09, 76.57, 129.70, 174.74, 199.15, 214.72, 261.0, 282.1),
        0.5,
        BADIANE,
    ),
    Row("spruce panel, no shear", NO_SHEAR, 0.04, (52.88, 76.65, 132.15, 177.31), 0.5, COMPUTED),
    Row("Sitka, flat", SITKA_FLAT, 0.03, (57.20, 110.45, 125.23, 159.90, 168.01), 0.7, "computed in 3-D"),
    Row("Sitka, arched", SITKA_ARCHED, 0.03, (63.84, 111.10, 200.34, 202.61, 319.29), 0.7, "computed in 3-D"),
)


def shell_hz(plate: ReferencePlate, size: float, count: int) -> Floats:
    """The shell's frequencies; edges as splines through 400 points or so."""
    x = plate.edge.divided(1e3)[0][:, 0]
    return solve_modes(as_plate(plate, float(np.ptp(x)) / 100), count, size).hz


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.name)
def test_row(row: Row) -> None:
    values = shell_hz(row.plate, row.size, len(row.expected)) * row.scale
    assert values == pytest.approx(row.expected, rel=row.percent / 100), row.source


def test_square_without_poisson_ratio_has_the_beam_twice() -> None:
    """nu = 0: 22.3733 = 4.73004^2 twice, the exact free beam, after one twist."""
    values = shell_hz(SQUARE_NO_POISSON, 0.025, 3) * per_hz(SIDE, THIN * SIDE, nu=0.0)
    assert values[1:] == pytest.approx([4.73004**2] * 2, rel=2e-3)


def test_spherical_cap() -> None:
    """Rise .1 a, h .01 a: 5.526 12.965 22.69 34.54 (each twice) and, moving in step all round, 65.77; computed in 3-D.

    Base radius and curvature are those of the middle surface, h/2 inside the outer one.
    """
    a, h = CAP_RADIUS, 0.01 * CAP_RADIUS
    radius = (1 + 0.1**2) / (2 * 0.1) * a + h / 2
    base = a * radius / (radius - h / 2)
    plate = metal_plate("cap", ellipse(base, base), sphere(radius), h)
    modes = solve_modes(as_plate(plate), 18, 0.03)
    values = modes.hz * per_hz(a, h)
    expected = np.repeat([5.526, 12.965, 22.69, 34.54], 2)
    assert values[:8] == pytest.approx(expected, rel=0.01)
    rim = np.linalg.norm(modes.points[:, :2], axis=1) > 0.999 * base
    motion = modes.normal_motion[:, rim]
    in_step = np.abs(motion.mean(axis=1)) > 10 * motion.std(axis=1)
    assert values[in_step][0] == pytest.approx(65.77, rel=0.01)


@cache
def _panel_held_at_one_end() -> Floats:
    """The cylinder panel of Olson & Lindberg, .3048 m along and .3048 m of arc across, held at a curved edge."""
    side, radius, thickness = 0.3048, 0.6096, 3.048e-3
    outer = radius + thickness / 2
    width = 2 * outer * np.sin(side / radius / 2)
    plate = as_plate(
        ReferencePlate(
            "fan blade",
            rectangle(side, width),
            cylinder(outer),
            uniform(thickness),
            isotropic(206.85e9, 0.3, 7857.0),
        ),
    )
    mesh = triangulate(plate.outline, None, 0.03)
    model = assemble(plate, mesh, cubic_mesh(mesh))
    free = np.repeat(model.cubic.nodes[:, 0] > -side / 2 + 1e-9, FIELDS)
    stiffness, inertia = (m[free][:, free].tocsc() for m in (model.stiffness, model.inertia))
    pairs = lowest_modes(stiffness, inertia, np.zeros((int(free.sum()), 0)), 5, model.shift)
    return np.asarray(np.sqrt(pairs.values) / (2 * np.pi))


def test_panel_held_at_one_end_computed() -> None:
    assert _panel_held_at_one_end() == pytest.approx([85.84, 138.41, 246.85, 342.2, 385.8], rel=0.01)


def test_panel_held_at_one_end_measured() -> None:
    """Experiment of Olson & Lindberg, J. Sound Vib. 19 (1971) 299, from memory; theirs scatters by some per cent."""
    assert _panel_held_at_one_end() == pytest.approx([85.6, 134.5, 259.0, 351.0, 395.0], rel=0.05)


def test_thinning_an_arched_rectangle_all_over() -> None:
    """Exponents d ln f / d ln h of the arched Sitka rectangle; computed."""
    thinner, thicker = (
        shell_hz(replace(SITKA_ARCHED, thickness=uniform(h)), 0.03, 5) for h in (2.94e-3, 3.06e-3)
    )
    exponents = np.log(thicker / thinner) / np.log(3.06 / 2.94)
    assert exponents == pytest.approx([0.868, 0.979, 0.894, 0.803, 0.482], abs=0.02)


def test_twisting_and_bending_give_the_plate_constants() -> None:
    """D4 = .274 rho f^2 a^2 b^2 / h^2 = GLR/3, D1 = .0789 rho f^2 a^4 / h^2 = EL/12 of a thin rectangle.

    McIntyre & Woodhouse, Acta Metall. 36 (1988) 1397, from memory; derived again for this project. The first takes
    the twist as w = xy, which is exact where the wood resists twisting far less than bending: with the GLR of real
    spruce it is 8 % low (by Ritz too), with an eighth of it 2 %.
    """
    a, b, h = 0.57944, 0.21538, 1e-3
    wood = replace(SPRUCE_PANEL.wood, GLR=SPRUCE_PANEL.wood.GLR / 8)
    twist, bending = shell_hz(replace(SPRUCE_PANEL, thickness=uniform(h), wood=wood), 0.05, 2)
    assert 0.274 * wood.density * (twist * a * b / h) ** 2 == pytest.approx(wood.GLR / 3, rel=0.02)
    assert 0.0789 * wood.density * (bending * a**2 / h) ** 2 == pytest.approx(wood.EL / 12, rel=0.02)


def test_thin_rectangles_of_wood_by_ritz() -> None:
    """An orthotropic thin plate, grain along, by a method that shares nothing with the shell."""
    thin = replace(SITKA_FLAT, thickness=uniform(0.3e-3))
    expected = rectangle_hz(0.36, 0.20, 0.3e-3, SITKA_FLAT.wood)
    assert shell_hz(thin, 0.025, 8) == pytest.approx(expected, rel=2e-3)


def test_printed_constants_agree_with_classical_theory() -> None:
    """The table's own constants for squares and discs, worked out again."""
    square = rectangle_hz(SIDE, SIDE, THIN * SIDE, METAL) * _SQUARE_SCALE
    assert square == pytest.approx(_SQUARE_VALUES[:8], rel=1e-5)
    assert disc_parameters(0.3, 5) == pytest.approx([5.3583, 9.0031, 12.4390, 20.4746, 21.8352], rel=1e-5)
