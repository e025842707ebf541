"""What a fit of the wood found: the belief, every tone with the mode that it was taken for, what else may be true."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from solver.advice.fit_evidence import FittedMass
from solver.advice.pairing import Paired
from solver.advice.tone_response import ToneResponse
from solver.advice.wood_prior import WoodPrior
from solver.core.arrays import Floats, Ints, freeze
from solver.plate.wood_posterior import PARAMETERS, WoodPosterior

_Q = len(PARAMETERS)


@dataclass(frozen=True)
class FittedTone:
    """One tone of the log [Hz], and the mode that it has been taken for.

    ``shift`` of ``ln f`` to the reference climate; ``pairing`` gives modes by their place among all expected;
    ``is_used`` if it helped to find the wood, ``weight`` then 1, or less if it was tempered.
    """

    entry: str
    state: int
    number: str | None
    hz: float
    shift: float
    pairing: Paired
    is_used: bool
    weight: float


@dataclass(frozen=True)
class Drift:
    """By how much [-] the tones of an entry lie over what all other entries make of them, and its standard deviation."""

    entry: str
    miss: float
    spread: float


@dataclass(frozen=True, eq=False)
class Rival:
    """Another wood that explains the tones nearly as well, ``odds`` times less probable: its parameters (q,) as in
    `WoodPosterior`, and the newest state's tones [Hz] expected of it, by their keys."""

    values: Floats
    expected: Mapping[str, float]
    odds: float

    def __post_init__(self) -> None:
        freeze(self, values=((_Q,), float))


@dataclass(frozen=True, eq=False)
class WoodFit:
    """What a fit found.

    ``posterior`` is for the newest state, whose answer to everything is ``response``; ``before`` (q, q) the
    covariance of the `PARAMETERS` before; ``keys`` (m,) and
    ``states`` (m,) of all expected tones, ``fitted`` (m,) [Hz] what the model makes of them with the fitted
    parameters, ``expected`` (m,) [Hz] with what it is off by, ``spreads`` (m,) of their logarithms; ``askew`` (m,) of
    what grain and rings move each besides (see `askew_factors`); ``parts`` (m,) the numbers in whose patterns each
    has part. Tones are those of the reference climate. ``rivals`` are other woods that may be the one as well;
    ``remarks`` what contradicts the plate in an entry, each with the entry's name.
    """

    posterior: WoodPosterior
    prior: WoodPrior
    response: ToneResponse
    before: Floats
    keys: tuple[str, ...]
    states: Ints
    fitted: Floats
    expected: Floats
    spreads: Floats
    askew: Floats
    parts: tuple[Mapping[str, float], ...]
    tones: tuple[FittedTone, ...]
    masses: tuple[FittedMass, ...]
    drifts: tuple[Drift, ...]
    rivals: tuple[Rival, ...]
    remarks: tuple[tuple[str, str], ...]
    steps: int

    def __post_init__(self) -> None:
        m = len(self.keys)
        freeze(
            self,
            before=((_Q, _Q), float),
            states=((m,), int),
            fitted=((m,), float),
            expected=((m,), float),
            spreads=((m,), float),
            askew=((m,), float),
        )

    @property
    def told_by_data(self) -> Floats:
        """Share (q,) of the variance of each parameter that the data took away: 0 the prior's word, 1 the data's."""
        before = np.diag(self.before)
        return np.asarray(1 - self.posterior.spreads**2 / np.where(before > 0, before, 1.0))

    def residual(self, tone: FittedTone) -> float:
        """Return ``ln`` of a paired tone over what the model makes of its mode, in one climate."""
        assert tone.pairing.mode is not None, "asked for only where a tone is paired"
        return float(np.log(tone.hz / self.fitted[tone.pairing.mode]) + tone.shift)
