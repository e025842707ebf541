"""What a fit says of tones that lie close together or share a pattern, and of woods that the log cannot tell apart."""

from collections.abc import Iterator

import numpy as np

from solver.advice.fit_doubt import Doubt, hz_range, mode_of, named
from solver.advice.fitted_wood import FittedTone, Rival, WoodFit
from solver.core.units import GPA
from solver.plate.mode_label import ordinal
from solver.plate.plate_doubt import GRAIN, RINGS

CLOSE = 0.015
"""Of ``ln f`` by grain and rings from which a tone is named that lies close to another: three times its reading."""
BESIDE = 0.1
"""Distance in ``ln f`` up to which that other tone is the cause."""


def of_close(fit: WoodFit) -> Iterator[Doubt]:
    """Name once each mode whose tone hangs on its distance from another as much as on the wood, the newest entry first."""
    said = set()
    for tone in reversed(fit.tones):
        is_new = tone.is_used and tone.number is not None and tone.number not in said
        if is_new and fit.askew[mode_of(tone)] > CLOSE:
            off = np.abs(np.log(fit.fitted / fit.fitted[mode_of(tone)]))
            off[(fit.states != tone.state) | (np.arange(len(off)) == mode_of(tone))] = np.inf
            if off.min() < BESIDE:
                said.add(tone.number)
                yield _close(fit, tone, int(off.argmin()), float(off.min()))


def _close(fit: WoodFit, tone: FittedTone, near: int, off: float) -> Doubt:
    mode = mode_of(tone)
    askew = f"Grain {np.degrees(GRAIN):.0f} degree or rings {np.degrees(RINGS):.0f} degrees off what plate.toml says"
    rings = "if the rings lean at the plate's ends, write by how much as ring_deg under [wood]"
    if fit.prior.wood.ring != 0.0:
        rings = "look again how far the rings lean at the plate's ends"
    return Doubt(
        "close",
        tone.entry,
        tone.hz,
        tone.number,
        fit.keys[near],
        f"log/{tone.entry}: {named(fit.keys[mode])} at {tone.hz:g} Hz lies close to {named(fit.keys[near])}, "
        f"{100 * off:.1f} % by the fitted wood. {askew} would part the two and move {named(fit.keys[mode])} by "
        f"{100 * fit.askew[mode]:.1f} %, so it counted for less. Note more tones, those beside it too, and {rings}.",
    )


def of_shared(fit: WoodFit) -> Iterator[Doubt]:
    """Say once of each number that it was given to the one of two tones which share its pattern, the newest entry first."""
    said = set()
    for tone in reversed(fit.tones):
        if tone.is_used and tone.number is not None and tone.number not in said:
            said.add(tone.number)
            sharing = [
                place
                for place in np.flatnonzero(fit.states == tone.state).tolist()
                if tone.number in fit.parts[place]
            ]
            if len(sharing) > 1 and fit.keys[mode_of(tone)] != tone.number:
                yield _shared(fit, tone, sharing)


def _shared(fit: WoodFit, tone: FittedTone, sharing: list[int]) -> Doubt:
    """A number of the maker's at the lesser of the tones that share its pattern."""
    assert tone.number is not None, "said of numbered tones alone"
    first, mode = int(np.argmax(fit.states == tone.state)), mode_of(tone)
    shares = np.array([fit.parts[place][tone.number] for place in sharing])
    places = " and ".join(ordinal(place - first + 1) for place in sharing)
    parts = " : ".join(f"{100 * share:.0f}" for share in shares / shares.sum())
    other = next(place for place in sharing if place != mode)
    return Doubt(
        "shared",
        tone.entry,
        tone.hz,
        tone.number,
        fit.keys[mode],
        f"log/{tone.entry}: mode {tone.number} at {tone.hz:g} Hz was taken for the {ordinal(mode - first + 1)} tone, "
        f"expected at {hz_range(fit, tone, mode)}: the {places} tones share its pattern, {parts}. The "
        f"{ordinal(other - first + 1)} is expected at {hz_range(fit, tone, other)}. It was used; note the other tone "
        "too.",
    )


def of_woods(fit: WoodFit) -> Iterator[Doubt]:
    """Name the other woods that may be the one as well."""
    for rival in fit.rivals:
        yield _several_woods(fit, rival)


def _several_woods(fit: WoodFit, rival: Rival) -> Doubt:
    entry = fit.tones[-1].entry
    newest = np.flatnonzero(fit.states == fit.states[-1])
    low = np.sort(fit.expected[newest])
    high = np.sort(np.array([*rival.expected.values()]))
    place = int(np.abs(np.log(high / low)).argmax())
    return Doubt(
        "several woods",
        entry,
        None,
        None,
        None,
        f"log/{entry}: another wood explains the tones nearly as well, {rival.odds:.1f} times less probable: EL "
        f"{rival.values[1] / GPA:.1f} in place of {fit.posterior['EL'] / GPA:.1f} GPa, and the {ordinal(place + 1)} tone "
        f"at {high[place]:.0f} in place of {low[place]:.0f} Hz. Note that tone too, or its powder pattern, and fit again.",
    )
