"""What is believed of a board before it is tapped: the species' constants, and how far boards stray from them.

Spreads are standard deviations of natural logarithms. The heavier a board is for its kind, the stiffer it is as well,
so the constants are correlated through the density; the two stiffnesses across the grain share their part with each
other, and so do the three shear moduli.
"""

from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats, freeze
from solver.plate.species import Constant
from solver.plate.wood import Wood
from solver.plate.wood_posterior import FITTED

DENSITY_SPREAD = 0.10
"""Coefficient of variation of the specific gravity within a species: Wood Handbook GTR-190, Table 5-6 (memory)."""

WEIGHED_SPREAD = 0.03
"""The same where plate.toml states a density or a mass of this very board (common practice, no source)."""

POISSON_SPREAD = 0.25
"""Of each of Poisson's ratios, which differ that much between printed tables (memory)."""


@dataclass(frozen=True)
class Spread:
    """How one constant strays: its power of the density, what it shares with its ``group``, what is its own."""

    power: float
    group: str
    shared: float
    own: float
    source: str


SPREADS: dict[Constant, Spread] = {
    "EL": Spread(
        1.0, "along", 0.0, 0.19, "in all 22 % as the bending modulus in Wood Handbook Table 5-6 (memory)"
    ),
    "ER": Spread(1.5, "across", 0.16, 0.20, "printed values of one species differ that much (memory)"),
    "ET": Spread(1.5, "across", 0.16, 0.20, "printed values of one species differ that much (memory)"),
    "GLR": Spread(1.2, "shear", 0.12, 0.15, "printed values of one species differ that much (memory)"),
    "GLT": Spread(1.2, "shear", 0.12, 0.15, "printed values of one species differ that much (memory)"),
    "GRT": Spread(
        2.0, "shear", 0.12, 0.28, "seldom measured, a third either way (common practice, no source)"
    ),
}


@dataclass(frozen=True, eq=False)
class WoodPrior:
    """The wood believed in, and the covariance (7, 7) of the logarithms of its `FITTED` constants."""

    wood: Wood
    covariance: Floats

    def __post_init__(self) -> None:
        freeze(self, covariance=((len(FITTED), len(FITTED)), float))


def wood_prior(wood: Wood, is_weighed: bool) -> WoodPrior:
    """Return the belief in a wood before the fit, around its constants as they are.

    Whatever is stated in place of the table moves the middle; its spread stays, because a figure may come from a book or
    another board, except that of a density where this very board ``is_weighed``.
    """
    density = WEIGHED_SPREAD if is_weighed else DENSITY_SPREAD
    # columns: density, what each group shares, what each constant has of its own
    groups = ("across", "shear")
    factors = np.zeros((len(FITTED), 1 + len(groups) + len(FITTED)))
    factors[0, 0] = density
    for row, constant in enumerate(FITTED[1:], start=1):
        spread = SPREADS[constant]
        factors[row, 0] = spread.power * density
        if spread.group in groups:
            factors[row, 1 + groups.index(spread.group)] = spread.shared
        factors[row, 1 + len(groups) + row] = spread.own
    return WoodPrior(wood, factors @ factors.T)
