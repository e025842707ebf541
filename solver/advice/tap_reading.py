"""Tones that were heard, held against those that the plate should have: which is which, and what did not sound."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from solver.advice.fit_states import parameter_covariance
from solver.advice.pairing import SURE, Expected, HeardTone, Paired, pair_tones
from solver.advice.tone_response import TONES, ToneResponse, lowest_response
from solver.advice.wood_prior import WoodPrior
from solver.core.arrays import Floats, freeze
from solver.measured.tap_tones import TapTones, Tone, are_mostly_unsure
from solver.modal.modes import Modes
from solver.plate.plate import Plate
from solver.plate.plate_doubt import Doubts

HELD = 0.003
"""What fingers and the air around a plate may shift a tone by, as a share of it (common practice, no source)."""

MOST_COMPUTED = 20
"""Modes beyond this number are so near each other that no tone can be told to be one of them."""

_DIFFERENCE = 0.01
"""By how much of a tone the predicted distance of two neighbours may be off (common practice, no source)."""

_ODDS_AT_0_DB, _ODDS_PER_DB = -4.3, 0.11

_MORE = 4
_STRAY, _SPREAD = 5, 0.1
"""So many tones more than a stretch has modes are not the plate's, even if it is wider by a tenth at either end: two or
three other things on a bench ring along now and then."""

_MANY = (
    "From {low:.0f} to {high:.0f} Hz there are {heard} tones, where this plate can ring with {most} at most: something "
    "else sounded besides, such as a loose part that rattles, a door or a voice. Look for what is loose, and record single "
    "taps again, in a quiet room."
)
_BEYOND = 1.15
_SOUGHT = ("1", "2", "5")


@dataclass(frozen=True, eq=False)
class TapReading:
    """Tones with the modes of the plate that they are; ``spreads`` (k,) of ``ln f`` of each mode before a tone was heard.

    ``paired`` is None for a tone above all that were computed. If the recording is ``doubtful``, as ``warnings`` say,
    none is sure.
    """

    tones: tuple[Tone, ...]
    paired: tuple[Paired | None, ...]
    modes: Modes
    spreads: Floats
    doubtful: bool = False
    warnings: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        freeze(self, spreads=((len(self.modes.hz),), float))

    def mode(self, tone: int) -> int | None:
        """Return the place among the modes of the one that a tone most likely is."""
        pairing = self.paired[tone]
        return None if pairing is None else pairing.mode

    def is_sure(self, tone: int) -> bool:
        """Tell whether a tone surely is the mode that it most likely is, or surely none."""
        return not self.doubtful and self._stands_out(tone)

    def name(self, tone: int) -> str | None:
        """Return the trade's number of the mode that a tone surely is."""
        return self.likely_name(tone) if self.is_sure(tone) else None

    def likely_name(self, tone: int) -> str | None:
        """Return the trade's number that a tone would surely have if the recording held nothing but the plate."""
        mode = self.mode(tone)
        return self.modes.names[mode] if mode is not None and self._stands_out(tone) else None

    def _stands_out(self, tone: int) -> bool:
        """Tell whether a tone leaves no doubt by itself, and no other one may as well be its mode."""
        pairing = self.paired[tone]
        if pairing is None or not pairing.is_sure:
            return False
        others = [one for place, one in enumerate(self.paired) if place != tone and one is not None]
        rival = max((one.other_probability for one in others if one.other == pairing.mode), default=0.0)
        return pairing.mode is None or pairing.probability >= SURE * (pairing.probability + rival)

    @property
    def silent(self) -> tuple[int, ...]:
        """Modes that probably were not excited: below the highest tone that was paired, and those that makers tap for."""
        heard = {self.mode(tone) for tone in range(len(self.tones))} - {None}
        highest = max((mode for mode in heard if mode is not None), default=-1)
        return tuple(
            mode
            for mode in range(len(self.modes.hz))
            if mode not in heard and (mode < highest or self.modes.names[mode] in _SOUGHT)
        )

    def may_hide_in(self, mode: int) -> int | None:
        """Return the tone in which a silent mode may be hidden, that of a neighbour too near to be parted from it."""
        hz = self.modes.hz
        for place, tone in enumerate(self.tones):
            other = self.mode(place)
            if other is not None and abs(hz[mode] - hz[other]) < tone.parts_hz + _DIFFERENCE * hz[other]:
                return place
        return None


@dataclass(frozen=True, eq=False)
class TappedPlate:
    """A plate that tones are held against: how its lowest tones hang on all that is not known, and how little that is."""

    plate: Plate
    response: ToneResponse
    doubts: Doubts
    prior: WoodPrior


def tones_to_compute(heard: int) -> int:
    """Return how many tones of a plate are computed where some were ``heard``."""
    return min(max(TONES, heard + _MORE), MOST_COMPUTED)


def read_taps(heard: TapTones, tapped: TappedPlate) -> TapReading:
    """Return the tones paired with the modes of a plate, as the doubts of its description and its wood allow.

    Of the plate, `tones_to_compute` are known, or more.
    """
    tones = heard.tones
    count = tones_to_compute(len(tones))
    response = lowest_response(tapped.response, count, tapped.doubts)
    known = parameter_covariance(tapped.prior, [tapped.doubts])
    covariance = response.slopes @ known @ response.slopes.T + response.own_covariance
    modes = response.modes
    expected = Expected(np.log(modes.hz), covariance, modes.parts, np.zeros(count, dtype=np.int64))
    within = [tone for tone in tones if tone.hz < _BEYOND * modes.hz[-1]]
    found = pair_tones(expected, [_heard(tone) for tone in within])
    beyond = [None] * (len(tones) - len(within))
    doubted = not heard.doubtful and are_mostly_unsure(tones)
    many = tuple(_too_many(np.array([tone.hz for tone in tones]), modes.hz)) if doubted else ()
    return TapReading(
        tones,
        (*found, *beyond),
        modes,
        np.sqrt(np.diag(covariance)),
        heard.doubtful or bool(many),
        (*heard.warnings, *many),
    )


def _too_many(heard: Floats, modes: Floats) -> Iterator[str]:
    """Yield a sentence on the stretch with most tones (n,) [Hz] more than modes (m,) [Hz], if that is no chance."""
    heard = heard[heard < modes[-1]]
    if not len(heard):
        return
    below = np.searchsorted(modes, heard * (1 - _SPREAD))
    up_to = np.searchsorted(modes, heard * (1 + _SPREAD), side="right")
    place = np.arange(len(heard))
    more = place[None, :] + 1 - place[:, None] - (up_to[None, :] - below[:, None])
    more[place[:, None] > place[None, :]] = 0
    first, last = np.unravel_index(int(more.argmax()), more.shape)
    if more[first, last] >= _STRAY:
        count = int(last - first + 1)
        yield _MANY.format(
            low=heard[first], high=heard[last], heard=count, most=count - int(more[first, last])
        )


def _heard(tone: Tone) -> HeardTone:
    spread = float(np.hypot(tone.sd_hz / tone.hz, HELD))
    return HeardTone(
        float(np.log(tone.hz)), spread, entry=0, state=0, no_mode=chance_of_no_mode(tone.level_db)
    )


def chance_of_no_mode(level_db: float) -> float:
    """Return the chance that a tone of a level [dB], at most 0, under the strongest is none of the plate's.

    A room and things on the bench answer more faintly than the plate that was struck: a logistic law, fitted to the tones
    of simulated takes (``python -m tests.trials.taps_in_rooms``).
    """
    return float(1 / (1 + np.exp(-(_ODDS_AT_0_DB - _ODDS_PER_DB * level_db))))
