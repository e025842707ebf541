"""Cubic triangles over the plan of the plate. The only door to scikit-fem.

Every field of the shell is a cubic Lagrange polynomial on curved (quadratic) triangles in plan. This module hands
out the shape functions and their plan derivatives at quadrature points; what is done with them is mechanics.
"""

from dataclasses import dataclass

import numpy as np

from meshes.facing import facing_up
from meshes.triangulate import PlateMesh
from solver.core.arrays import Floats, Ints, freeze

NODES_PER_ELEMENT = 10


@dataclass(frozen=True, eq=False)
class Sampling:
    """Shape functions of every element at its quadrature points.

    ``points`` (t, q, 2) plan positions [m]; ``weights`` (t, q) plan areas [m2]; ``values`` (q, 10);
    ``gradients`` (t, q, 10, 2) plan derivatives [1/m].
    """

    points: Floats
    weights: Floats
    values: Floats
    gradients: Floats

    def __post_init__(self) -> None:
        freeze(
            self,
            points=((None, None, 2), float),
            weights=((None, None), float),
            values=((None, NODES_PER_ELEMENT), float),
            gradients=((None, None, NODES_PER_ELEMENT, 2), float),
        )


@dataclass(frozen=True, eq=False)
class CubicMesh:
    """The nodes that carry the shell's fields.

    ``nodes`` (n, 2) plan positions [m]; ``elements`` (t, 10) node numbers; ``triangles`` (9 t, 3) the flat triangles
    between an element's nodes,
    anticlockwise seen from outside, for drawing; ``stiffness`` is sampled at degree 4, ``mass`` at degree 6.
    """

    nodes: Floats
    elements: Ints
    triangles: Ints
    stiffness: Sampling
    mass: Sampling

    def __post_init__(self) -> None:
        freeze(self, nodes=((None, 2), float), elements=((None, 10), int), triangles=((None, 3), int))


def cubic_mesh(mesh: PlateMesh) -> CubicMesh:
    """Return cubic Lagrange elements on the curved triangles of ``mesh``.

    Degree 4 (6 points) integrates a bending energy of quadratic curvatures exactly on a straight triangle; degree 6
    (12 points) the mass.
    """
    from skfem import Basis, ElementTriP3, MeshTri2

    plan = MeshTri2(mesh.nodes.T.copy(), mesh.triangles.T.copy())
    stiff, heavy = (Basis(plan, ElementTriP3(), intorder=order) for order in (4, 6))
    nodes, elements = stiff.doflocs.T, stiff.element_dofs.T
    flat = facing_up(nodes, elements[:, _SUBTRIANGLES].reshape(-1, 3))
    return CubicMesh(nodes, elements, flat, _sampling(stiff), _sampling(heavy))


def _sampling(basis: "Basis") -> Sampling:  # type: ignore[name-defined]  # noqa: F821
    functions = [basis.basis[i][0] for i in range(basis.Nbfun)]
    return Sampling(
        np.moveaxis(np.asarray(basis.global_coordinates()), 0, -1),
        basis.dx,
        np.stack([np.asarray(f)[0] for f in functions], axis=-1),
        np.stack([np.moveaxis(f.grad, 0, -1) for f in functions], axis=2),
    )


# Nine flat triangles on the nodes of a cubic one: corners 0 1 2, then 3 4 on edge 01, 5 6 on 12, 7 8 on 02, centre 9.
_SUBTRIANGLES = np.array(
    [[0, 3, 7], [3, 9, 7], [3, 4, 9], [4, 5, 9], [4, 1, 5], [7, 9, 8], [9, 6, 8], [9, 5, 6], [8, 6, 2]]
)
