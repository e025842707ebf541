"""The tones of a plate of fitted wood: what is expected of them, in which interval, and how sure their change is.

A change by carving is much surer than the tones themselves: whatever is not known of wood, arch and caliper moves the
plate before and the plate after nearly alike.
"""

import time
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from threadpoolctl import threadpool_limits

from solver.advice.forecast import Forecast, forecast_tones, tone_keys
from solver.advice.tone_response import MeshedPlate, ToneResponse, meshed, response_of
from solver.core.arrays import Floats, Ints, freeze
from solver.modal.assembly import ModalModel
from solver.modal.modes import Modes, modes_of
from solver.plate.plate import Plate
from solver.plate.plate_doubt import Doubts
from solver.plate.wood_posterior import PARAMETERS, TWO_SIDED_95, WoodPosterior

MASS = "mass"
"""The name of the mass among the figures of a plate and among those wished for; the others are numbers of modes."""

CHANGE_THEORY = 0.05
"""Standard deviation of a change by carving, as a share of it or, where stiffness and mass work against each other, of the
share of the mass that was taken: solids bear changes out within 5 %, and the first order leaves out as much again where two
tones lie close together and mix otherwise in another wood."""


@dataclass(frozen=True, eq=False)
class FittedBelief:
    """What is believed of the plate of a folder whose wood was fitted, and how far its description may be off."""

    posterior: WoodPosterior
    doubts: Doubts

    def tones(self, on: MeshedPlate, model: ModalModel, modes: Modes) -> "FittedTones":
        """Return what is expected of ``modes`` of a ``model`` on a mesh: some of its tones, in any order."""
        with threadpool_limits(1, user_api="blas"):
            response = response_of(on, model, modes, self.doubts)
        return FittedTones(self.posterior, response, forecast_tones(self.posterior, response))


@dataclass(frozen=True, eq=False)
class FittedTones:
    """Tones of a plate of fitted wood: their ``response`` to what is not sure, and their ``forecast``."""

    posterior: WoodPosterior
    response: ToneResponse
    forecast: Forecast

    @property
    def factors(self) -> dict[str, float]:
        """By how much more each tone and the mass are expected than the model alone makes them, by their names."""
        share = self.forecast.expected / self.forecast.hz
        known = dict(zip(tone_keys(self.response.modes), share.tolist(), strict=True))
        return known | {MASS: float(np.exp(self.response.mass_slopes @ self.posterior.left_to_add))}

    @property
    def bands(self) -> dict[str, tuple[float, float]]:
        """The 95 % intervals of tones [Hz] and mass [kg], by their names."""
        ends = zip(self.forecast.low.tolist(), self.forecast.high.tolist(), strict=True)
        slopes, q = self.response.mass_slopes, len(PARAMETERS)
        spread = float(np.sqrt(slopes @ self.posterior.covariance[:q, :q] @ slopes))
        mass = self.response.modes.mass * self.factors[MASS]
        half = float(np.exp(TWO_SIDED_95 * spread))
        return dict(zip(tone_keys(self.response.modes), ends, strict=True)) | {
            MASS: (mass / half, mass * half)
        }


def solve_fitted(plate: Plate, belief: FittedBelief, count: int) -> tuple[Modes, FittedTones]:
    """Return the ``count`` lowest modes of a plate of fitted wood, at the frequencies expected, and their intervals.

    Raises InputError if no sound mesh can be made.
    """
    spent, start = {}, time.perf_counter()
    with threadpool_limits(1, user_api="blas"):
        on = meshed(plate)
        spent["mesh"] = time.perf_counter()
        model = on.model(plate)
        spent["assemble"] = time.perf_counter()
        modes = modes_of(model, count)
        spent["solve"] = time.perf_counter()
        tones = belief.tones(on, model, modes)
        spent["intervals"] = time.perf_counter()
    ends = np.diff([start, *spent.values()])
    seconds = dict(zip(spent, ends.tolist(), strict=True))
    return replace(corrected(modes, tones.factors), seconds=seconds), tones


def corrected(modes: Modes, factors: Mapping[str, float]) -> Modes:
    """Return the modes at the frequencies and with the mass that are expected; what has no factor stays as it is."""
    share = np.array([factors.get(key, 1.0) for key in tone_keys(modes)])
    return replace(modes, hz=modes.hz * share, mass=modes.mass * factors.get(MASS, 1.0))


def some_modes(modes: Modes, places: Ints, names: tuple[str | None, ...]) -> Modes:
    """Return the modes at some ``places`` (k,), in that order and with these names."""
    return replace(
        modes,
        hz=modes.hz[places],
        fields=modes.fields[places],
        names=names,
        amplitudes=modes.amplitudes[places],
    )


@dataclass(frozen=True, eq=False)
class FittedChange:
    """The change of k tones by carving: ``log_ratio`` (k,) of ``ln f`` and its standard deviation ``spread`` (k,)."""

    before: FittedTones
    after: FittedTones
    log_ratio: Floats
    spread: Floats

    def __post_init__(self) -> None:
        k = len(self.before.response.modes.hz)
        freeze(self, log_ratio=((k,), float), spread=((k,), float))

    @property
    def hz(self) -> Floats:
        """The change (k,) [Hz]."""
        return self._hz(0.0)

    @property
    def low(self) -> Floats:
        """The lower ends (k,) [Hz] of the 95 % intervals of the change."""
        return self._hz(-TWO_SIDED_95)

    @property
    def high(self) -> Floats:
        """The upper ends (k,) [Hz] of the 95 % intervals of the change."""
        return self._hz(TWO_SIDED_95)

    def _hz(self, sides: float) -> Floats:
        expected = self.before.forecast.expected
        return np.asarray(expected * np.expm1(self.log_ratio + sides * self.spread))


def change_between(before: FittedTones, after: FittedTones) -> FittedChange:
    """Return the change from tones before to the same tones, in the same order, on the same mesh, after.

    ``var(ln f' - ln f) = (A' - A) C (A' - A)^T + |Z' - Z|^2 + CHANGE_THEORY^2 max((ln f' - ln f)^2, (1 - m'/m)^2)``: what
    a tone is off by itself goes with its shape, so it falls out; Z are the factors of holes, Poisson's ratios and readings.
    """
    one, other = before.response, after.response
    slopes, q = other.slopes - one.slopes, len(PARAMETERS)
    variance = np.einsum("ka,ab,kb->k", slopes, before.posterior.covariance[:q, :q], slopes)
    for apart in (other.common - one.common, other.uneven - one.uneven):
        variance += (apart**2).sum(axis=1)
    ratio = np.log(after.forecast.expected / before.forecast.expected)
    taken = 1 - other.modes.mass / one.modes.mass
    theory = CHANGE_THEORY * np.maximum(np.abs(ratio), taken)
    return FittedChange(before, after, ratio, np.sqrt(variance + theory**2))
