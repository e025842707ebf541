"""The section as a cubic in the share of the thickness that is taken away."""

from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats, Ints, Singles
from solver.core.parallel import in_parallel
from solver.modal.thinned_section import ThinnableSection

DEGREE = 3
DEEPEST = 0.45
"""Share of the thickness up to which the cubic is fitted; it holds well beyond, and for wood added as well."""

_MET = (0.15, 0.35)
"""Shares at which `SectionCubic.quadratic` meets the cubic, besides nought."""


@dataclass(frozen=True, eq=False)
class SectionCubic:
    """Changes of the section at p points when the share s of its thickness is taken: ``C_1 s + C_2 s^2 + C_3 s^3``.

    ``stiffness`` (3, p, 15, 15) and ``inertia`` (3, p, 5, 5), single precision, ``mass`` (3, p) [kg]. Bending goes with the
    third power of the thickness; only the curvature of the plate bends the law away from a cubic, by 1e-4 of the section.
    """

    stiffness: Singles
    inertia: Singles
    mass: Floats

    def quadratic(self, points: Ints) -> Singles:
        """Return two powers' changes of the stiffness (2, q, 15, 15) at some of the points that stand for the cubic.

        ``s^3`` is replaced by the parabola ``(a + b) s^2 - a b s`` that meets it at shares a and b.
        """
        first, second, third = self.stiffness[:, points]
        a, b = _MET
        return np.stack([first - np.float32(a * b) * third, second + np.float32(a + b) * third])

    def secant(self, share: float) -> tuple[Singles, Singles]:
        """Return the changes (p, 15, 15) and (p, 5, 5) by ``share``, divided by it."""
        powers = (share ** np.arange(DEGREE)).astype(np.float32)
        return np.tensordot(powers, self.stiffness, 1), np.tensordot(powers, self.inertia, 1)


def section_cubic(section: ThinnableSection) -> SectionCubic:
    """Return the cubic through the section as built and three thinner ones; its middle keeps the built frame."""
    shares = DEEPEST * np.arange(1, DEGREE + 1) / DEGREE
    built, *thinner = in_parallel(section.less_by, (0.0, *shares))
    solve = np.linalg.inv(shares[:, None] ** np.arange(1, DEGREE + 1))
    stiffness = np.tensordot(solve, [less.stiffness - built.stiffness for less in thinner], 1)
    inertia = np.tensordot(solve, [less.inertia - built.inertia for less in thinner], 1)
    mass = np.tensordot(solve, [less.mass - built.mass for less in thinner], 1)
    return SectionCubic(stiffness.astype(np.float32), inertia.astype(np.float32), mass)
