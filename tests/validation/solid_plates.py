"""The reference plates, each an exact definition that the solids and the shell both start from."""

from dataclasses import replace

import numpy as np

from solver.plate.bar import Bar
from solver.plate.wood import Wood
from tests.validation.solid.curves import ellipse, slot
from tests.validation.solid.jet import Jet
from tests.validation.solid.plate import ReferencePlate

MM = 1e-3

SPRUCE = Wood(420.0, 12e9, 0.85e9, 0.48e9, 0.72e9, 0.70e9, 0.036e9, 0.38, 0.44, 0.50, species="spruce")
"""The spruce of the elliptical plates."""

BAR_SPRUCE = Wood(
    440.0, 14e9, 0.95e9, 0.60e9, 0.80e9, 0.78e9, 0.045e9, 0.37, 0.46, 0.47, species="bar spruce"
)
"""A stiffer split spruce for the bar."""


def _inside(x: Jet, y: Jet) -> Jet:
    """1 at the middle of the ellipse, 0 at its edge: 1 - (x/a)^2 - (y/b)^2."""
    u, v = x * (1 / 0.178), y * (1 / 0.080)
    return 1.0 - (u * u + v * v)


def _dome(x: Jet, y: Jet) -> Jet:
    p = _inside(x, y)
    return 0.020 * (p * p)


def _thicker_inside(x: Jet, y: Jet) -> Jet:
    return 2.5e-3 + 1.0e-3 * _inside(x, y)


ELLIPSE = ReferencePlate("ellipse", ellipse(0.178, 0.080), _dome, _thicker_inside, SPRUCE)

SLOTS = replace(
    ELLIPSE,
    name="ellipse-slots",
    holes=(
        slot((-0.012, 0.040), 0.060, 0.006, np.radians(-8.0)),
        slot((-0.012, -0.040), 0.060, 0.006, np.radians(8.0)),
    ),
)

_PROFILE = np.array([[0.0, 2.5e-3], [0.5, 12e-3], [1.0, 2.5e-3]])
_BAR = Bar(np.array([-0.105, 0.0185]), np.array([0.095, 0.0125]), 5.5e-3, _PROFILE, SPRUCE)

BARRED = replace(ELLIPSE, name="ellipse-bar", bar=_BAR)
BARRED_OTHER_WOOD = replace(ELLIPSE, name="ellipse-bar-wood", bar=replace(_BAR, wood=BAR_SPRUCE))
BARRED_SLOTS = replace(SLOTS, name="ellipse-slots-bar", bar=_BAR)

PLATES = {p.name: p for p in (ELLIPSE, SLOTS, BARRED, BARRED_OTHER_WOOD, BARRED_SLOTS)}
