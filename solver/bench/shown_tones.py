"""The tones on the page: as solved or, where the wood was fitted, at the frequencies expected and with their intervals."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from solver.advice.fitted_tones import MASS, FittedBelief, corrected
from solver.advice.forecast import Forecast
from solver.advice.tone_response import MeshedPlate
from solver.modal.assembly import ModalModel
from solver.modal.modes import Modes
from solver.plate.wood_posterior import TWO_SIDED_95


@dataclass(frozen=True, eq=False)
class ShownTones:
    """The tones shown, k ``modes`` at the frequencies and with the mass expected, and their ``forecast``.

    ``factors`` take tones and mass, by their names, from what the model makes to what is expected. Until the wood was
    fitted there is no forecast, and no factors.
    """

    modes: Modes
    forecast: Forecast | None = None
    factors: Mapping[str, float] = field(default_factory=dict)

    @property
    def mass_share(self) -> float:
        """By how much more the mass is expected than the model makes it."""
        return self.factors.get(MASS, 1.0)

    def share(self, place: int) -> float:
        """Return by how much higher than the model makes it a tone is expected; 1 for one that is not shown."""
        if self.forecast is None or place >= len(self.forecast.hz):
            return 1.0
        return float(self.forecast.expected[place] / self.forecast.hz[place])

    def ends(self, place: int, hz: float) -> tuple[float, float] | None:
        """Return the 95 % interval [Hz] of a tone that was brought to ``hz`` by taking wood, as wide as before.

        To first order: how far the tone hangs on what is not known changes little by what a scraper takes. None where
        nothing is known of it.
        """
        if self.forecast is None or place >= len(self.forecast.hz):
            return None
        half = float(np.exp(TWO_SIDED_95 * self.forecast.spread[place]))
        return hz / half, hz * half


def expected_tones(
    modes: Modes, on: MeshedPlate, model: ModalModel, belief: FittedBelief | None
) -> ShownTones:
    """Return the ``modes`` of a ``model`` on its mesh as they are to be shown."""
    if belief is None:
        return ShownTones(modes)
    tones = belief.tones(on, model, modes)
    return ShownTones(corrected(modes, tones.factors), tones.forecast, tones.factors)
