"""What is believed of a plate after a fit: of its wood, its arch, its thickness and its bar."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from solver.core.arrays import Floats, freeze
from solver.plate.plate import Plate
from solver.plate.reshaped_arch import ArchForm, with_arch_form
from solver.plate.species import Constant
from solver.plate.wood import Wood

FITTED: tuple[Constant, ...] = ("density", "EL", "ER", "ET", "GLR", "GLT", "GRT")
"""The constants that a fit finds; Poisson's ratios hardly move a tone and count as doubt of the model."""

ARCH = ("rise", "across", "along")
PARAMETERS = (*FITTED, *ARCH, "caliper", "bar")
"""Logarithms of the wood's constants, the form of the arch (see `ArchForm`), by how much every thickness is greater
than read [mm], and the logarithm of the stiffness of the bar's wood over the stated one."""

TWO_SIDED_95 = 1.96
"""Standard deviations on either side that hold 95 % of a normal law."""


@dataclass(frozen=True, eq=False)
class WoodPosterior:
    """The belief after a fit: a normal law in the q `PARAMETERS`, and in t offsets of ``ln f`` of single ``tones``.

    ``values`` (q,) are the constants in SI and the other parameters themselves; ``offsets`` (t,) what the model
    misses the tones of this very plate by; ``covariance`` (q + t, q + t) of the logarithms of the constants, of the
    other parameters and of the offsets; ``uneven`` [-] is what a tone of which nothing is known is off by because the
    wood is not the same everywhere. A tone is named by the trade's number, or by ``#`` and its order.
    """

    values: Floats
    tones: tuple[str, ...]
    offsets: Floats
    covariance: Floats
    uneven: float = 0.0

    def __post_init__(self) -> None:
        q, t = len(PARAMETERS), len(self.tones)
        freeze(
            self,
            values=((q,), float),
            offsets=((t,), float),
            covariance=((q + t, q + t), float),
        )

    def __getitem__(self, parameter: str) -> float:
        """Return the value of one parameter."""
        return float(self.values[PARAMETERS.index(parameter)])

    @property
    def constants(self) -> Mapping[Constant, float]:
        """The fitted constants in SI."""
        return {constant: self[constant] for constant in FITTED}

    @property
    def form(self) -> ArchForm:
        """By how much the arch is higher or fuller than described."""
        return ArchForm(*(self[way] for way in ARCH))

    @property
    def spreads(self) -> Floats:
        """Standard deviations (q,) of the logarithms of the constants and of the other parameters."""
        return np.sqrt(np.diag(self.covariance)[: len(PARAMETERS)])

    @property
    def correlations(self) -> Floats:
        """Correlations (7, 7) of the logarithms of the constants."""
        part = self.covariance[: len(FITTED), : len(FITTED)]
        spread = np.sqrt(np.diag(part))
        return np.asarray(part / np.outer(spread, spread))

    def interval(self, constant: Constant) -> tuple[float, float]:
        """Return the 95 % interval of a constant in SI, a log-normal law."""
        half = TWO_SIDED_95 * float(self.spreads[PARAMETERS.index(constant)])
        return self[constant] * float(np.exp(-half)), self[constant] * float(np.exp(half))

    def wood(self, stated: Wood) -> Wood:
        """Return the fitted wood; angles, Poisson's ratios and species stay as ``stated``."""
        found = self.constants
        return replace(
            stated,
            density=found["density"],
            EL=found["EL"],
            ER=found["ER"],
            ET=found["ET"],
            GLR=found["GLR"],
            GLT=found["GLT"],
            GRT=found["GRT"],
        )

    def applied(self, plate: Plate) -> Plate:
        """Return the plate of the fitted wood and arch; a bar of the plate's own wood follows it."""
        return with_wood(with_arch_form(plate, self.form), self.wood(plate.wood))

    @property
    def left_to_add(self) -> Floats:
        """Parameters (q,) that `applied` leaves to first order: the caliper's error and the bar's stiffness."""
        left = np.zeros(len(PARAMETERS))
        for name in ("caliper", "bar"):
            left[PARAMETERS.index(name)] = self[name]
        return left


def with_wood(plate: Plate, wood: Wood) -> Plate:
    """Return the plate of another wood; a bar of the plate's own wood follows it."""
    bar = plate.bar
    if bar is not None and bar.wood == plate.wood:
        bar = replace(bar, wood=wood)
    return replace(plate, wood=wood, bar=bar)
