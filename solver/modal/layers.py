"""The plate as layers: the wood of the plate everywhere, the wood of the bar under its strip."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from meshes.arch import Arch
from meshes.triangulate import PlateMesh
from solver.core.arrays import Floats, Ints
from solver.modal.section import ACROSS_REACH, SHEAR_REACH, Part
from solver.modal.shell import Sampling
from solver.modal.strains import Middle
from solver.modal.surface import Surface, surface_at
from solver.plate.bar import Bar
from solver.plate.plate import Plate
from solver.plate.wood import Wood

_PORTION = 400


@dataclass(frozen=True, eq=False)
class Layer:
    """A part of one layer, sampled at p = t q quadrature points of the elements (t,).

    ``part`` says what it is to the section, ``middle`` is its middle surface, ``slenderness`` (p,) the bar's height over
    its width; ``weights`` (p,) plan areas [m2]; ``values`` (p, 10) and ``gradients`` (p, 10, 2) the shape functions.
    """

    elements: Ints
    surface: Surface
    part: Part
    middle: Middle
    wood: Wood
    slenderness: Floats
    weights: Floats
    values: Floats
    gradients: Floats

    @property
    def volumes(self) -> Floats:
        """Volume (p,) [m3] that each point stands for; the area is taken at the layer's middle."""
        return self.weights * self.surface.area_factor(self.middle.depth) * self.middle.thickness


def layers(plate: Plate, mesh: PlateMesh, sampling: Sampling) -> Iterator[Layer]:
    """Yield the layers, which make up the wood, in portions whose operators fit in the processor's memory."""
    for elements in _portions(np.arange(len(mesh.triangles))):
        yield plate_layer(plate, elements, sampling)
    if plate.bar is not None:
        for elements in _portions(np.flatnonzero(mesh.in_bar)):
            yield _bar_layer(plate, plate.bar, elements, sampling, Part.BAR, np.inf)


def bar_roots(plate: Plate, mesh: PlateMesh, sampling: Sampling) -> Iterator[Layer]:
    """Yield what the root of the bar adds to its stiffness: the bar's own wood once more, for other stresses."""
    if plate.bar is not None:
        for elements in _portions(np.flatnonzero(mesh.in_bar)):
            for part, reach in ((Part.ROOT_ACROSS, ACROSS_REACH), (Part.ROOT_IN_SHEAR, SHEAR_REACH)):
                yield _bar_layer(plate, plate.bar, elements, sampling, part, reach * plate.bar.width)


def stiffening(plate: Plate, mesh: PlateMesh, sampling: Sampling) -> Iterator[Layer]:
    """Yield all layers that resist strain: those that make up the wood, and what the bar's root adds."""
    yield from layers(plate, mesh, sampling)
    yield from bar_roots(plate, mesh, sampling)


def _portions(elements: Ints) -> Iterator[Ints]:
    for first in range(0, len(elements), _PORTION):
        yield elements[first : first + _PORTION]


def plate_layer(plate: Plate, elements: Ints, sampling: Sampling) -> Layer:
    """Return the plate's own layer on some of its elements."""
    points = sampling.points[elements].reshape(-1, 2)
    thickness = plate.graduation.at(points)
    slope = -0.5 * plate.graduation.gradient(points)
    middle = Middle(-0.5 * thickness, slope, thickness, np.array([1.0, 0.0]))
    return _layer(
        plate.arch, elements, sampling, points, Part.PLATE, middle, plate.wood, np.zeros(len(points))
    )


def _bar_layer(plate: Plate, bar: Bar, elements: Ints, sampling: Sampling, part: Part, reach: float) -> Layer:
    """The bar as far as ``reach`` [m] below the inside, its height measured on along the same normal."""
    points = sampling.points[elements].reshape(-1, 2)
    full = bar.height_at(points)
    height = np.minimum(full, reach)
    height_slope = bar.height_gradient(points) * (full < reach)[:, None]
    depth = -plate.graduation.at(points) - 0.5 * height
    slope = -plate.graduation.gradient(points) - 0.5 * height_slope
    middle = Middle(depth, slope, height, bar.direction)
    return _layer(plate.arch, elements, sampling, points, part, middle, bar.wood, full / bar.width)


def _layer(
    arch: Arch,
    elements: Ints,
    sampling: Sampling,
    points: Floats,
    part: Part,
    middle: Middle,
    wood: Wood,
    slenderness: Floats,
) -> Layer:
    t, q = len(elements), len(sampling.values)
    return Layer(
        elements,
        surface_at(arch, points),
        part,
        middle,
        wood,
        slenderness,
        sampling.weights[elements].reshape(-1),
        np.tile(sampling.values, (t, 1)),
        sampling.gradients[elements].reshape(t * q, -1, 2),
    )
