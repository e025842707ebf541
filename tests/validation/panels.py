"""Parts of flat and simply curved test plates: rectangles, uniform thickness, isotropic stuff."""

from solver.plate.wood import Wood
from tests.validation.solid.curves import Curve, polygon
from tests.validation.solid.jet import Jet, power
from tests.validation.solid.plate import Field


def rectangle(length: float, width: float) -> Curve:
    """A rectangle about the origin, ``length`` along x and ``width`` along y [m]."""
    a, b = length / 2, width / 2
    return polygon([(-a, -b), (a, -b), (a, b), (-a, b)])


def isotropic(E: float, nu: float, density: float) -> Wood:
    """A stuff without grain: modulus [Pa], Poisson's ratio, density [kg/m3]."""
    G = E / (2 * (1 + nu))
    return Wood(density, E, E, E, G, G, G, nu, nu, nu)


def flat(x: Jet, y: Jet) -> Jet:
    """No arch."""
    return 0.0 * (x + y)


def uniform(thickness: float) -> Field:
    """The same thickness [m] everywhere."""
    return lambda x, y: flat(x, y) + thickness


def sphere(radius: float) -> Field:
    """An outer surface of one radius of curvature [m], highest and level at the origin."""
    return lambda x, y: power(radius**2 - x * x - y * y, 0.5)


def cylinder(radius: float) -> Field:
    """An outer surface curved across only, with its axis along x; ``radius`` [m]."""
    return lambda x, y: power(radius**2 - y * y, 0.5) + 0.0 * x


def saddle(radius: float) -> Field:
    """An outer surface curved down across and up along, both with one ``radius`` [m]."""
    return lambda x, y: (x * x - y * y) * (0.5 / radius)
