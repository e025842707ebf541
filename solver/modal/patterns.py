"""The shapes that the trade's numbers stand for: those of the plate without its bar and sound holes.

A bar to one side, holes, grain that runs out and uneven thickness mix the shapes of a plate; its outline and arch alone
draw them clean. So the patterns are the modes of the bare plate of usual wood and one thickness, solved coarsely. They are
the same for the plate before and after it is thinned, cut or fitted with a bar, and a tone keeps its number through all.
Which of the bare plate's modes is which pattern is told by polynomials in its own lengthwise and crosswise coordinate.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from scipy.interpolate import LinearNDInterpolator
from scipy.optimize import linear_sum_assignment
from scipy.spatial import cKDTree

from meshes.arch import Arch
from meshes.edge import Edge
from meshes.graduation import uniform_graduation
from meshes.outline import Outline
from meshes.triangulate import triangulate
from solver.core.arrays import Floats, freeze
from solver.core.units import MM
from solver.modal.assembly import assemble
from solver.modal.labels import node_areas
from solver.modal.shapes import free_shapes
from solver.modal.shell import cubic_mesh
from solver.plate.mode_label import NUMBERS
from solver.plate.plate import Plate, Role
from solver.plate.species import find_species, wood_of

CLEAR_SHAPE = 0.5
"""Share of the polynomials of a number above which a panel's mode has its pattern; a plate with a waist has all five."""

_COARSE = 0.15
"""Size of the elements as a share of the square root of the area, 35 mm on a violin: the patterns of elements half as large
agree with these to 2 %."""
_SOLVED = 10
_USUAL_THICKNESS, _USUAL_AREA, _GROWTH = 2.8 * MM, 0.055, 0.4
"""Thickness of a usual violin plate, its area [m2], and the power of the area with which it grows (a cello's is 5 mm)."""

# Powers of the lengthwise and the crosswise coordinate, by the shape that they draw; "dish" is modes 2 and 5.
_TERMS = {
    "rigid": ((0, 0), (1, 0), (0, 1)),
    "twist": ((1, 1),),
    "dish": ((2, 0), (0, 2)),
    "long and two across": ((2, 1), (0, 3)),
    "bout against bout": ((3, 0), (1, 2)),
}


@dataclass(frozen=True, eq=False)
class ModePatterns:
    """The patterns of the `NUMBERS`: their motion ``shapes`` (5, n) along the normal at plan ``points`` (n, 2) [m].

    A number of which the plate has no pattern has noughts.
    """

    points: Floats
    shapes: Floats

    def __post_init__(self) -> None:
        freeze(self, points=((None, 2), float), shapes=((len(NUMBERS), len(self.points)), float))

    def amplitudes(self, motion: Floats, nodes: Floats, wood: Floats) -> Floats:
        """Return the part (k, 5) of each pattern in shapes with ``motion`` (k, n) along the normal at nodes (n, 2).

        ``wood`` (n,) is the wood that each node stands for, in any unit. The squares are the shares: ``(a . b)^2`` of unit
        shapes, the modal assurance criterion (R. J. Allemang and D. L. Brown, 1st International Modal Analysis
        Conference, 1982; from memory).
        """
        root = np.sqrt(wood)
        patterns, shapes = self._at(nodes) * root, motion * root
        lengths = np.linalg.norm(patterns, axis=1)
        patterns = patterns / np.where(lengths > 0, lengths, 1.0)[:, None]
        return np.asarray(shapes @ patterns.T / np.linalg.norm(shapes, axis=1)[:, None])

    def _at(self, nodes: Floats) -> Floats:
        """The patterns (5, m) at other nodes (m, 2): linear between the points, and beyond them the nearest."""
        values = self._between(nodes)
        outside = np.isnan(values[:, 0])
        values[outside] = self.shapes.T[self._nearest.query(nodes[outside])[1]]
        return np.asarray(values.T)

    @cached_property
    def _between(self) -> LinearNDInterpolator:
        return LinearNDInterpolator(self.points, self.shapes.T)

    @cached_property
    def _nearest(self) -> cKDTree:
        return cKDTree(self.points)


def mode_patterns(plate: Plate) -> ModePatterns:
    """Return the patterns of a plate, which hang on its outline, its arch and its role alone.

    Raises
    ------
    InputError
        If no sound mesh can be made of the outline.
    """
    return _patterns(_BareForm(plate.outline.edge, plate.arch, plate.role))


@dataclass(frozen=True)
class _BareForm:
    """What patterns hang on; edges and arches are the same if they are the same object."""

    edge: Edge
    arch: Arch
    role: Role


@lru_cache(maxsize=8)
def _patterns(form: _BareForm) -> ModePatterns:
    outline, role = Outline(form.edge), form.role
    usual = _USUAL_THICKNESS * (outline.area / _USUAL_AREA) ** _GROWTH
    wood = wood_of(
        find_species("sugar maple" if role == "back" else "Norway spruce", "patterns"), {}, "patterns"
    )
    bare = Plate("", role, outline, form.arch, uniform_graduation(usual), wood)
    mesh = triangulate(outline, size=_COARSE * float(np.sqrt(outline.area)))
    shapes = free_shapes(assemble(bare, mesh, cubic_mesh(mesh)), _SOLVED)
    nodes, motion = shapes.nodes, shapes.normal_motion
    polynomial = shape_shares(motion, nodes, node_areas(nodes, shapes.triangles))
    found = np.zeros((len(NUMBERS), len(nodes)))
    for number, mode in drawn_by(polynomial, CLEAR_SHAPE if role == "panel" else 0.0).items():
        found[NUMBERS.index(number)] = motion[mode]
    return ModePatterns(nodes, found)


def drawn_by(shares: Floats, least: float) -> dict[str, int]:
    """Return which mode draws the pattern of each number: `shape_shares` (k, 5) larger than the ``least``."""
    pairs = zip(*linear_sum_assignment(shares, maximize=True), strict=True)
    return {NUMBERS[number]: int(mode) for mode, number in pairs if shares[mode, number] > least}


def shape_shares(motion: Floats, nodes: Floats, areas: Floats) -> Floats:
    """Return which share (k, 5) of the mean square of each shape the polynomials of each number hold.

    ``motion`` (k, n) is the normal motion at plan ``nodes`` (n, 2) that stand for ``areas`` (n,). Each shape is fitted by
    the terms up to the third power of the plate's own lengthwise and crosswise coordinate u and v. Modes 2 and 5 are told
    by the signs of their ``u^2`` and ``v^2``: against each other in mode 2, alike in mode 5.
    """
    parts, dish = _parts(motion, nodes, areas)
    alike = dish[:, 0] * dish[:, 1] > 0
    two, five = np.where(alike, 0.0, parts["dish"]), np.where(alike, parts["dish"], 0.0)
    return np.column_stack(
        [parts["twist"], two, parts["long and two across"], parts["bout against bout"], five]
    )


def _parts(motion: Floats, nodes: Floats, areas: Floats) -> tuple[dict[str, Floats], Floats]:
    """Share (k,) of the mean square in each kind of term, and the coefficients (k, 2) of u^2 and v^2."""
    centred = nodes - areas @ nodes / areas.sum()
    u, v = (centred / np.sqrt(areas @ centred**2 / areas.sum())).T
    powers = [power for terms in _TERMS.values() for power in terms]
    kinds = np.array([kind for kind, terms in _TERMS.items() for _ in terms])
    root = np.sqrt(areas)[:, None]
    shapes = motion.T * root
    q, r = np.linalg.qr(np.column_stack([u**i * v**j for i, j in powers]) * root)
    parts = (q.T @ shapes) ** 2 / (shapes**2).sum(axis=0)
    quadratic = np.flatnonzero(kinds == "dish")
    upto = quadratic[-1] + 1
    coefficients = np.linalg.solve(r[:upto, :upto], q[:, :upto].T @ shapes)
    return {kind: parts[kinds == kind].sum(axis=0) for kind in _TERMS}, coefficients[quadratic].T
