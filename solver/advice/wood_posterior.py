"""What is believed of a plate's wood after a fit, and the interval in which each tone then lies."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from solver.advice.tone_response import ARCH, PARAMETERS, ToneResponse
from solver.advice.wood_prior import FITTED
from solver.core.arrays import Floats, freeze
from solver.modal.modes import Modes
from solver.plate.mode_label import tone_key
from solver.plate.plate import Plate
from solver.plate.reshaped_arch import ArchForm, with_arch_form
from solver.plate.species import Constant
from solver.plate.wood import Wood

TWO_SIDED_95 = 1.96
"""Standard deviations on either side that hold 95 % of a normal law."""


@dataclass(frozen=True, eq=False)
class Forecast:
    """Tones (k,) [Hz] of a plate of fitted wood: ``hz`` as solved, ``expected`` with what its measured tones were off
    by, and the 95 % interval from ``low`` to ``high``; ``spread`` (k,) is the standard deviation of ``ln f``."""

    hz: Floats
    expected: Floats
    spread: Floats

    def __post_init__(self) -> None:
        k = len(self.hz)
        freeze(self, hz=((k,), float), expected=((k,), float), spread=((k,), float))

    @property
    def low(self) -> Floats:
        """Lower ends (k,) [Hz] of the 95 % intervals."""
        return np.asarray(self.expected * np.exp(-TWO_SIDED_95 * self.spread))

    @property
    def high(self) -> Floats:
        """Upper ends (k,) [Hz] of the 95 % intervals."""
        return np.asarray(self.expected * np.exp(TWO_SIDED_95 * self.spread))


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

    def forecast(self, response: ToneResponse) -> Forecast:
        """Return the tones of a plate to which this belief was `applied`, thinned or not, with their intervals.

        ``cov(ln f) = A C A^T + rest``, where A holds the slopes of the response and a one for the offset of each tone
        that is known; a tone of which nothing was heard has all that the model leaves open in ``rest``.
        """
        keys = tone_keys(response.modes)
        k, q = response.slopes.shape
        known = np.array([key in self.tones for key in keys])
        to_all = np.zeros((k, q + len(self.tones)))
        to_all[:, :q] = response.slopes
        for row in np.flatnonzero(known):
            to_all[row, q + self.tones.index(keys[row])] = 1.0
        spread = np.einsum("ka,ab,kb->k", to_all, self.covariance, to_all)
        spread += np.where(known, 0.0, np.diag(response.own_covariance) + self.uneven**2)
        left = np.concatenate([self.left_to_add, self.offsets])
        hz = response.modes.hz
        return Forecast(hz, hz * np.exp(to_all @ left), np.sqrt(spread))

    @property
    def left_to_add(self) -> Floats:
        """Parameters (q,) that `applied` leaves to first order: the caliper's error and the bar's stiffness."""
        left = np.zeros(len(PARAMETERS))
        for name in ("caliper", "bar"):
            left[PARAMETERS.index(name)] = self[name]
        return left


def tone_keys(modes: Modes) -> tuple[str, ...]:
    """Return what each tone is known by: the trade's number, or ``#`` and its order."""
    return tuple(tone_key(name, place) for place, name in enumerate(modes.names))


def with_wood(plate: Plate, wood: Wood) -> Plate:
    """Return the plate of another wood; a bar of the plate's own wood follows it."""
    bar = plate.bar
    if bar is not None and bar.wood == plate.wood:
        bar = replace(bar, wood=wood)
    return replace(plate, wood=wood, bar=bar)
