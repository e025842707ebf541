"""The reference plates, each an exact definition that the solids and the shell both start from."""

from dataclasses import replace

import numpy as np

from solver.plate.bar import Bar
from solver.plate.wood import Wood
from tests.validation.panels import flat, isotropic, rectangle, sphere, uniform
from tests.validation.solid.curves import ellipse, slot
from tests.validation.solid.jet import Jet, cosine
from tests.validation.solid.plate import ReferencePlate
from tests.validation.violin_shapes import hump, sound_holes, violin_arch, violin_outline

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
BARRED_LOW = replace(BARRED, name="ellipse-bar-low", bar=replace(_BAR, profile=_PROFILE * [1.0, 0.25]))
BARRED_HIGH = replace(BARRED, name="ellipse-bar-high", bar=replace(_BAR, profile=_PROFILE * [1.0, 1.5]))


MAPLE = Wood(
    640.0,
    11.4e9,
    1.70e9,
    0.90e9,
    1.25e9,
    0.95e9,
    0.28e9,
    0.42,
    0.46,
    0.66,
    np.radians(3.0),
    np.radians(10.0),
    "maple",
)
"""A hard, dense maple, its rings turned 10 degrees and its grain 3 degrees."""

VIOLIN_TOP = ReferencePlate(
    "violin-top",
    violin_outline(),
    violin_arch(15.5e-3),
    hump(2.4e-3, 0.7e-3, (0.190, 0.004), (0.085, 0.055)),
    SPRUCE,
    sound_holes(),
    role="top",
)
VIOLIN_TOP_BARRED = replace(
    VIOLIN_TOP,
    name="violin-top-bar",
    bar=Bar(np.array([0.045, 0.0170]), np.array([0.265, 0.0130]), 5.5e-3, _PROFILE, BAR_SPRUCE),
)
VIOLIN_BACK = ReferencePlate(
    "violin-back",
    violin_outline(),
    violin_arch(14.5e-3),
    hump(2.5e-3, 2.1e-3, (0.180, -0.003), (0.105, 0.062)),
    MAPLE,
    role="back",
)

SPRUCE_PANEL = ReferencePlate(
    "spruce-panel",
    rectangle(0.57944, 0.21538),
    flat,
    uniform(4.72e-3),
    Wood(
        425.610974844238,
        11.9654621369481e9,
        1.20816912518666e9,
        0.42e9,
        0.745780735409048e9,
        0.59e9,
        0.026e9,
        0.39,
        0.49,
        0.64,
    ),
)
"""Row 0 of the data set of Badiane et al., J. Acoust. Soc. Am. 153 (2023) 730, doi 10.1121/10.0020559."""

_EL = 10.8e9
SITKA = Wood(400.0, _EL, 0.078 * _EL, 0.043 * _EL, 0.064 * _EL, 0.061 * _EL, 0.003 * _EL, 0.372, 0.467, 0.435)
"""Sitka spruce: ratios of Tables 5-1 and 5-2, Wood Handbook, USDA GTR-282 (2021)."""


def _barrel_vault(x: Jet, y: Jet) -> Jet:
    return 0.015 * (cosine(x * (np.pi / 0.36)) * cosine(y * (np.pi / 0.20)))


SITKA_FLAT = ReferencePlate("sitka-flat", rectangle(0.36, 0.20), flat, uniform(3e-3), SITKA)
SITKA_ARCHED = replace(SITKA_FLAT, name="sitka-arched", arch=_barrel_vault)

CAP_RADIUS = 0.15
CAP = ReferencePlate(
    "cap",
    ellipse(CAP_RADIUS, CAP_RADIUS),
    sphere((1 + 0.1**2) / (2 * 0.1) * CAP_RADIUS),
    uniform(0.01 * CAP_RADIUS),
    isotropic(70e9, 0.3, 2700.0),
)
"""A spherical cap whose rise is a tenth of its base radius, and its thickness a hundredth."""

PLATES = {
    p.name: p
    for p in (
        ELLIPSE,
        SLOTS,
        BARRED,
        BARRED_OTHER_WOOD,
        BARRED_SLOTS,
        BARRED_LOW,
        BARRED_HIGH,
        VIOLIN_TOP,
        VIOLIN_TOP_BARRED,
        VIOLIN_BACK,
        SPRUCE_PANEL,
        SITKA_FLAT,
        SITKA_ARCHED,
        CAP,
    )
}
"""Every reference plate by name."""
