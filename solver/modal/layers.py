"""The plate as layers: the wood of the plate everywhere, the wood of the bar under its strip."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from meshes.triangulate import PlateMesh
from solver.arrays import Floats, Ints
from solver.modal.shell import Sampling
from solver.modal.strains import Middle
from solver.modal.surface import Surface, surface_at
from solver.plate.bar import Bar
from solver.plate.plate import Plate
from solver.plate.wood import Wood

_CHUNK = 400


@dataclass(frozen=True, eq=False)
class Layer:
    """A part of one layer, sampled at p = t q quadrature points of the elements (t,).

    ``middle`` is its middle surface, ``weights`` (p,) plan areas [m2]; ``values`` (p, 10) and ``gradients``
    (p, 10, 2) the shape functions.
    """

    elements: Ints
    surface: Surface
    middle: Middle
    wood: Wood
    is_bar: bool
    weights: Floats
    values: Floats
    gradients: Floats

    @property
    def volumes(self) -> Floats:
        """Volume (p,) [m3] that each point stands for; the area is taken at the layer's middle."""
        return self.weights * self.surface.area_factor(self.middle.depth) * self.middle.thickness


def layers(plate: Plate, mesh: PlateMesh, sampling: Sampling) -> Iterator[Layer]:
    """Yield the layers in portions small enough that their operators fit in the processor's memory."""
    everything = np.arange(len(mesh.triangles))
    for first in range(0, len(everything), _CHUNK):
        yield _plate_layer(plate, everything[first : first + _CHUNK], sampling)
    strip = np.flatnonzero(mesh.in_bar)
    if plate.bar is not None:
        for first in range(0, len(strip), _CHUNK):
            yield _bar_layer(plate, plate.bar, strip[first : first + _CHUNK], sampling)


def _plate_layer(plate: Plate, elements: Ints, sampling: Sampling) -> Layer:
    points = sampling.points[elements].reshape(-1, 2)
    thickness = plate.graduation.at(points)
    slope = -0.5 * plate.graduation.gradient(points)
    middle = Middle(-0.5 * thickness, slope, thickness, np.array([1.0, 0.0]))
    return _layer(plate, elements, sampling, points, middle, None)


def _bar_layer(plate: Plate, bar: Bar, elements: Ints, sampling: Sampling) -> Layer:
    """The bar hangs below the inside, its height measured on along the same normal."""
    points = sampling.points[elements].reshape(-1, 2)
    height = bar.height_at(points)
    depth = -plate.graduation.at(points) - 0.5 * height
    slope = -plate.graduation.gradient(points) - 0.5 * bar.height_gradient(points)
    return _layer(plate, elements, sampling, points, Middle(depth, slope, height, bar.direction), bar)


def _layer(
    plate: Plate, elements: Ints, sampling: Sampling, points: Floats, middle: Middle, bar: Bar | None
) -> Layer:
    t, q = len(elements), len(sampling.values)
    return Layer(
        elements,
        surface_at(plate.arch, points),
        middle,
        plate.wood if bar is None else bar.wood,
        bar is not None,
        sampling.weights[elements].reshape(-1),
        np.tile(sampling.values, (t, 1)),
        sampling.gradients[elements].reshape(t * q, -1, 2),
    )
