"""The wood of a board by its own tones: the fit of a plate, begun from a belief so wide that only the tones speak."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from solver.advice.board import Board, PureTone, constant_of, pure_tones, thin_plate_moduli
from solver.advice.fit_entry import FitEntry
from solver.advice.fitted_wood import WoodFit
from solver.advice.forecast import Forecast, forecast_tones
from solver.advice.tone_response import meshed, tone_response
from solver.advice.wood_fit import fit_wood
from solver.advice.wood_prior import WoodPrior, wood_prior
from solver.modal.modes import Modes
from solver.plate.species import Constant
from solver.plate.wood import Wood
from solver.plate.wood_posterior import FITTED, TWO_SIDED_95

WIDER = 2.0
"""How much farther than its species' boards a board may stray, so that its tones and not the book decide."""

SPOKEN, HALF_SPOKEN = 0.75, 0.4
"""Share of a constant's variance from which the tones determine it, or help to."""


@dataclass(frozen=True)
class Found:
    """A figure with its 95 % interval, in SI."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class BoardWood:
    """What the tones of a board tell of its wood.

    ``modes`` are those of the board of the fitted wood, ``forecast`` the same with their intervals; ``pure`` its tones of
    one form; ``thin`` the moduli by the thin plate's formula with the tones [Hz] that they are from.
    """

    board: Board
    fit: WoodFit
    modes: Modes
    forecast: Forecast
    pure: tuple[PureTone, ...]
    thin: dict[Constant, tuple[float, float]]

    @property
    def wood(self) -> Wood:
        """The fitted wood."""
        return self.fit.posterior.wood(self.fit.prior.wood)

    def constant(self, name: Constant) -> Found:
        """Return a fitted constant."""
        return self.power({name: 1.0})

    def power(self, powers: dict[Constant, float]) -> Found:
        """Return a product of powers of constants, as sqrt(EL/density), with its interval by their covariance."""
        rows = np.array([powers.get(name, 0.0) for name in FITTED])
        posterior = self.fit.posterior
        logs = np.log([posterior[name] for name in FITTED])
        spread = float(np.sqrt(rows @ posterior.covariance[: len(FITTED), : len(FITTED)] @ rows))
        middle, half = float(rows @ logs), TWO_SIDED_95 * spread
        return Found(*(float(np.exp(middle + side)) for side in (0.0, -half, half)))

    def told(self, name: Constant) -> float:
        """Return the share of the variance of a constant that the tones took away."""
        return float(self.fit.told_by_data[FITTED.index(name)])

    def form_of(self, index: int) -> PureTone | None:
        """Return what a mode is, if it is of one form."""
        return next((tone for tone in self.pure if tone.index == index), None)

    @property
    def telling(self) -> tuple[tuple[PureTone, Constant], ...]:
        """Tones of one form that nobody has heard yet, and the constants that they would tell."""
        heard = {tone.pairing.mode for tone in self.fit.tones}
        named = [(tone, constant_of(tone.form, self.wood)) for tone in self.pure if tone.index not in heard]
        return tuple((tone, c) for tone, c in named if c is not None and self.told(c) < SPOKEN)

    @property
    def speed_along(self) -> Found:
        """Speed of sound along the grain, ``sqrt(EL / rho)`` [m/s]."""
        return self.power({"EL": 0.5, "density": -0.5})

    @property
    def speed_across(self) -> Found:
        """Speed of sound across the grain along the rings' radius, ``sqrt(ER / rho)`` [m/s]."""
        return self.power({"ER": 0.5, "density": -0.5})

    @property
    def radiation(self) -> Found:
        """Sound radiation coefficient along the grain, ``c / rho = sqrt(EL / rho^3)`` [m4 kg-1 s-1]."""
        return self.power({"EL": 0.5, "density": -1.5})


def wide_prior(wood: Wood, is_weighed: bool) -> WoodPrior:
    """Return the species' belief with all stiffnesses straying farther than its boards do."""
    prior = wood_prior(wood, is_weighed)
    wider = np.array([1.0 if name == "density" else WIDER for name in FITTED])
    return replace(prior, covariance=prior.covariance * np.outer(wider, wider))


def wood_of_board(board: Board, entry: FitEntry, is_weighed: bool) -> BoardWood:
    """Return the wood of a board by one entry of its log; raises InputError if the board has no sound mesh."""
    fit = fit_wood([entry], wide_prior(entry.plate.wood, is_weighed), None)
    plate = fit.posterior.applied(entry.plate)
    on = meshed(entry.plate)
    response = tone_response(on, plate, entry.doubts, len(fit.keys))
    pure = pure_tones(response.modes)
    heard = _heard(fit, pure)
    return BoardWood(
        board,
        fit,
        response.modes,
        forecast_tones(fit.posterior, response),
        pure,
        thin_plate_moduli(board, plate.wood, heard),
    )


def _heard(fit: WoodFit, pure: tuple[PureTone, ...]) -> Iterator[tuple[PureTone, float]]:
    """Yield every pure tone with the frequency [Hz] at which it was heard."""
    for tone in fit.tones:
        for form in pure:
            if tone.is_used and tone.pairing.mode == form.index:
                yield form, tone.hz
