"""One figure of the log in doubt, and what is said of tones in a sentence about it."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from solver.advice.fitted_wood import FittedTone, WoodFit
from solver.plate.mode_label import key_called
from solver.plate.plate_doubt import READING
from solver.plate.wood_posterior import TWO_SIDED_95

DoubtKind = Literal[
    "exchanged",
    "wrong number",
    "no mode",
    "unsure",
    "stands off",
    "close",
    "shared",
    "several woods",
    "stage",
    "mass",
    "drift",
]


@dataclass(frozen=True)
class Doubt:
    """One figure of the log in doubt: where, which tone [Hz] noted for which ``mode``, and a sentence with the cure.

    ``better`` is the mode that would fit better, if there is one.
    """

    kind: DoubtKind
    entry: str
    hz: float | None
    mode: str | None
    better: str | None
    in_words: str


def key_of(fit: WoodFit, tone: FittedTone) -> str | None:
    """Return what the mode is known by that a tone was taken for, if it was taken for one."""
    return None if tone.pairing.mode is None else fit.keys[tone.pairing.mode]


def mode_of(tone: FittedTone) -> int:
    """Return the place of the mode that a tone was taken for."""
    assert tone.pairing.mode is not None, "asked for only where a tone is paired"
    return tone.pairing.mode


def own_mode(fit: WoodFit, tone: FittedTone) -> int | None:
    """Place of the mode whose number a tone bears, if its state shows one."""
    places = [i for i in range(len(fit.keys)) if fit.states[i] == tone.state and fit.keys[i] == tone.number]
    return places[0] if places else None


def highest_mode(fit: WoodFit, tone: FittedTone) -> int:
    """Return the place of the highest mode of a tone's state."""
    return int(np.where(fit.states == tone.state, fit.expected, 0.0).argmax())


def nearest_mode(fit: WoodFit, tone: FittedTone) -> int:
    """Return the place of the mode of its state that is expected nearest to a tone."""
    off = np.abs(np.log(fit.expected / tone.hz))
    return int(np.where(fit.states == tone.state, off, np.inf).argmin())


def bounds(fit: WoodFit, tone: FittedTone, mode: int) -> tuple[float, float]:
    """Return the 95 % interval [Hz] of a mode as it would be read in the entry's own climate."""
    half = TWO_SIDED_95 * float(np.hypot(fit.spreads[mode], READING))
    middle = float(fit.expected[mode]) * float(np.exp(-tone.shift))
    return middle * float(np.exp(-half)), middle * float(np.exp(half))


def hz_range(fit: WoodFit, tone: FittedTone, mode: int) -> str:
    """Say where a mode is expected in the climate of a tone's entry."""
    low, high = bounds(fit, tone, mode)
    return f"{low:.0f} to {high:.0f} Hz"


def off_said(percent: float) -> str:
    """Say by how much something lies over or under another."""
    return f"{abs(percent):.1f} % {'over' if percent > 0 else 'under'}"


def named(key: str) -> str:
    """Return what a tone is called within a sentence."""
    return f"the {key_called(key)}" if key.startswith("#") else key_called(key)
