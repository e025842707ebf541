"""The interval in which each tone of a plate of fitted wood lies."""

from dataclasses import dataclass

import numpy as np

from solver.advice.tone_response import ToneResponse
from solver.core.arrays import Floats, freeze
from solver.modal.modes import Modes
from solver.plate.mode_label import tone_key
from solver.plate.wood_posterior import TWO_SIDED_95, WoodPosterior


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


def forecast_tones(posterior: WoodPosterior, response: ToneResponse) -> Forecast:
    """Return the tones of a plate to which the posterior was `applied`, thinned or not, with their intervals.

    ``cov(ln f) = A C A^T + rest``, where A holds the slopes of the response and a one for the offset of each tone
    that is known; a tone of which nothing was heard has all that the model leaves open in ``rest``.
    """
    keys = tone_keys(response.modes)
    k, q = response.slopes.shape
    known = np.array([key in posterior.tones for key in keys])
    to_all = np.zeros((k, q + len(posterior.tones)))
    to_all[:, :q] = response.slopes
    for row in np.flatnonzero(known):
        to_all[row, q + posterior.tones.index(keys[row])] = 1.0
    spread = np.einsum("ka,ab,kb->k", to_all, posterior.covariance, to_all)
    spread += np.where(known, 0.0, np.diag(response.own_covariance) + posterior.uneven**2)
    left = np.concatenate([posterior.left_to_add, posterior.offsets])
    hz = response.modes.hz
    return Forecast(hz, hz * np.exp(to_all @ left), np.sqrt(spread))


def tone_keys(modes: Modes) -> tuple[str, ...]:
    """Return what each tone is known by: the trade's number, or ``#`` and its order."""
    return tuple(tone_key(name, place) for place, name in enumerate(modes.names))
