"""What a fit could not believe, in words: tones that go with no mode or with another, masses that cannot be, a drift."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from solver.advice.plate_doubt import GRAIN, READING, RINGS
from solver.advice.slips import slip_in_mass, slip_in_tone, slip_of_point
from solver.advice.wood_fit import Drift, FittedTone, WoodFit
from solver.advice.wood_posterior import TWO_SIDED_95
from solver.plate.mode_label import key_called
from solver.units import GRAM

DoubtKind = Literal["exchanged", "wrong number", "no mode", "unsure", "stands off", "close", "mass", "drift"]

STANDS_OFF = 0.5
"""Weight below which a tone that was used is named."""
CLOSE = 0.015
"""Of ``ln f`` by grain and rings from which a tone is named that lies close to another: three times its reading."""
BESIDE = 0.1
"""Distance in ``ln f`` up to which that other tone is the cause."""
DRIFT = 3.0
"""Standard deviations by which the tones of an entry may lie off all others before no wood explains it."""


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


def doubts_in(fit: WoodFit) -> tuple[Doubt, ...]:
    """Return all that the fit doubts, tones first; an exchange is said once."""
    tones: list[Doubt] = []
    for tone in fit.tones:
        doubt = _of_tone(fit, tone)
        if doubt is not None and not any(_same_exchange(doubt, said) for said in tones):
            tones.append(doubt)
    return (*tones, *_of_close(fit), *_of_masses(fit), *_of_drifts(fit))


def _same_exchange(one: Doubt, other: Doubt) -> bool:
    alike = one.kind == other.kind == "exchanged" and one.entry == other.entry
    return alike and (one.mode, one.better) == (other.better, other.mode)


def _of_tone(fit: WoodFit, tone: FittedTone) -> Doubt | None:
    if tone.is_used and tone.weight >= STANDS_OFF:
        return None
    mode = tone.pairing.mode
    if tone.is_used:
        return _stands_off(fit, tone)
    if mode is None:
        return _no_mode(fit, tone)
    if not tone.pairing.is_sure and (tone.number is None or fit.keys[mode] == tone.number):
        return _unsure(fit, tone)
    return _other_mode(fit, tone, mode)


def _other_mode(fit: WoodFit, tone: FittedTone, mode: int) -> Doubt:
    """A number that stands at the tone of another mode, alone or in exchange with one."""
    better = fit.keys[mode]
    partner = next(
        (
            t
            for t in fit.tones
            if t.entry == tone.entry and t.number == better and _key(fit, t) == tone.number
        ),
        None,
    )
    if partner is not None:
        return Doubt(
            "exchanged",
            tone.entry,
            tone.hz,
            tone.number,
            better,
            f"log/{tone.entry}: mode {tone.number} at {tone.hz:g} Hz and mode {better} at {partner.hz:g} Hz look "
            f"exchanged; expected mode {better} at {_range(fit, tone, mode)} and mode {tone.number} at "
            f"{_range(fit, partner, _mode(partner))}. Neither was used. If so, correct the entry: mode {tone.number} at "
            f"{partner.hz:g} Hz, mode {better} at {tone.hz:g} Hz; then fit again.",
        )
    own = _own_mode(fit, tone)
    expected = f" and mode {tone.number} at {_range(fit, tone, own)}" if own is not None else ""
    slip = slip_in_tone(tone.hz, *_bounds(fit, tone, own)) if own is not None else ""
    return Doubt(
        "wrong number",
        tone.entry,
        tone.hz,
        tone.number,
        better,
        f"log/{tone.entry}: {tone.hz:g} Hz stands as mode {tone.number} but goes better with {_named(better)}; expected "
        f"{_named(better)} at {_range(fit, tone, mode)}{expected}. It was not used. "
        f"{slip or 'Look at its powder pattern, and number it anew.'}",
    )


def _no_mode(fit: WoodFit, tone: FittedTone) -> Doubt:
    own = _own_mode(fit, tone)
    start = f"log/{tone.entry}: {tone.hz:g} Hz"
    if own is None:
        near = _nearest(fit, tone)
        if tone.hz > _bounds(fit, tone, _highest(fit, tone))[1]:
            return _too_high(fit, tone)
        slip = _slip_of_unnumbered(fit, tone, near)
        said = (
            f"{start} goes with no mode; expected {_named(fit.keys[near])} nearest to it, at "
            f"{_range(fit, tone, near)}. It was not used. {slip or 'Tap again.'}"
        )
        return Doubt("no mode", tone.entry, tone.hz, tone.number, None, said)
    slip = slip_in_tone(tone.hz, *_bounds(fit, tone, own))
    said = (
        f"{start} cannot be mode {tone.number}; expected {_range(fit, tone, own)} by all other figures. It was not used. "
        f"{slip or 'Tap again, or look at its powder pattern.'}"
    )
    return Doubt("no mode", tone.entry, tone.hz, tone.number, None, said)


def _slip_of_unnumbered(fit: WoodFit, tone: FittedTone, near: int) -> str:
    """Return the slip that makes a tone without a number one of those that its entry lacks; empty if none does.

    Any slip may lead to the nearest; to the others, which are many, only that of the decimal point.
    """
    heard = {t.pairing.mode for t in fit.tones if t.entry == tone.entry}
    missing = [i for i in np.flatnonzero(fit.states == tone.state).tolist() if i not in heard]
    nearest = slip_in_tone(tone.hz, *_bounds(fit, tone, near)) if near in missing else ""
    points = (slip_of_point(tone.hz, *_bounds(fit, tone, mode)) for mode in missing)
    return nearest or next(filter(None, points), "")


def _too_high(fit: WoodFit, tone: FittedTone) -> Doubt:
    top = _highest(fit, tone)
    said = (
        f"log/{tone.entry}: {tone.hz:g} Hz lies above all tones that the fit looks at; expected the highest of them, "
        f"{_named(fit.keys[top])}, at {_range(fit, tone, top)}. It was not used. Lower tones tell more of the wood."
    )
    return Doubt("no mode", tone.entry, tone.hz, tone.number, None, said)


def _unsure(fit: WoodFit, tone: FittedTone) -> Doubt:
    mode, other = _mode(tone), tone.pairing.other
    chance = f"{100 * tone.pairing.probability:.0f} %"
    rest = "no mode at all" if other is None else f"{_named(fit.keys[other])} at {_range(fit, tone, other)}"
    better = None if other is None else fit.keys[other]
    return Doubt(
        "unsure",
        tone.entry,
        tone.hz,
        tone.number,
        better,
        f"log/{tone.entry}: {tone.hz:g} Hz is {_named(fit.keys[mode])} at {_range(fit, tone, mode)} with {chance} only; "
        f"it may be {rest}. It was not used. Its powder pattern tells which: correct the "
        "entry, and give the tone that number.",
    )


def _stands_off(fit: WoodFit, tone: FittedTone) -> Doubt:
    mode = _mode(tone)
    off = 100 * float(np.expm1(fit.residual(tone)))
    return Doubt(
        "stands off",
        tone.entry,
        tone.hz,
        tone.number,
        None,
        f"log/{tone.entry}: {_named(fit.keys[mode])} at {tone.hz:g} Hz lies {_off(off)} "
        f"what all others make of it; expected {_range(fit, tone, mode)}. It counted for {100 * tone.weight:.0f} %. "
        "Tap it again.",
    )


def _of_close(fit: WoodFit) -> Iterator[Doubt]:
    """Name once each mode whose tone hangs on its distance from another as much as on the wood, the newest entry first."""
    said = set()
    for tone in reversed(fit.tones):
        is_new = tone.is_used and tone.number is not None and tone.number not in said
        if is_new and fit.askew[_mode(tone)] > CLOSE:
            off = np.abs(np.log(fit.fitted / fit.fitted[_mode(tone)]))
            off[(fit.states != tone.state) | (np.arange(len(off)) == _mode(tone))] = np.inf
            if off.min() < BESIDE:
                said.add(tone.number)
                yield _close(fit, tone, int(off.argmin()), float(off.min()))


def _close(fit: WoodFit, tone: FittedTone, near: int, off: float) -> Doubt:
    mode = _mode(tone)
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
        f"log/{tone.entry}: {_named(fit.keys[mode])} at {tone.hz:g} Hz lies close to {_named(fit.keys[near])}, "
        f"{100 * off:.1f} % by the fitted wood. {askew} would part the two and move {_named(fit.keys[mode])} by "
        f"{100 * fit.askew[mode]:.1f} %, so it counted for less. Note more tones, those beside it too, and {rings}.",
    )


def _of_masses(fit: WoodFit) -> Iterator[Doubt]:
    for mass in fit.masses:
        if not mass.is_used:
            grams, low, high = (value / GRAM for value in (mass.mass, mass.low, mass.high))
            slip = slip_in_mass(grams, low, high)
            yield Doubt(
                "mass",
                mass.entry,
                None,
                None,
                None,
                f"log/{mass.entry}: mass_g is {grams:.4g}; expected {low:.0f} to {high:.0f} by the plate's volume and "
                f"its wood. It was not used. {slip or 'Weigh again, or look at the thickness that gives the volume.'}",
            )


def _of_drifts(fit: WoodFit) -> Iterator[Doubt]:
    """Name the entry that stands off most: of two each stands off from the other."""
    drift = max(fit.drifts, key=lambda drift: abs(drift.miss) / drift.spread, default=None)
    if drift is not None and abs(drift.miss) > DRIFT * drift.spread:
        yield _of_drift(drift)


def _of_drift(drift: Drift) -> Doubt:
    off = 100 * float(np.expm1(drift.miss))
    return Doubt(
        "drift",
        drift.entry,
        None,
        None,
        None,
        f"log/{drift.entry}: its tones lie {_off(off)} what the other entries' wood makes of them; "
        f"expected within {100 * DRIFT * drift.spread:.1f} %. No one wood explains both. Look at the thickness, the "
        "parts and the room noted for it.",
    )


def _key(fit: WoodFit, tone: FittedTone) -> str | None:
    return None if tone.pairing.mode is None else fit.keys[tone.pairing.mode]


def _mode(tone: FittedTone) -> int:
    assert tone.pairing.mode is not None, "asked for only where a tone is paired"
    return tone.pairing.mode


def _own_mode(fit: WoodFit, tone: FittedTone) -> int | None:
    """Place of the mode whose number a tone bears, if its state shows one."""
    places = [i for i in range(len(fit.keys)) if fit.states[i] == tone.state and fit.keys[i] == tone.number]
    return places[0] if places else None


def _highest(fit: WoodFit, tone: FittedTone) -> int:
    return int(np.where(fit.states == tone.state, fit.expected, 0.0).argmax())


def _nearest(fit: WoodFit, tone: FittedTone) -> int:
    off = np.abs(np.log(fit.expected / tone.hz))
    return int(np.where(fit.states == tone.state, off, np.inf).argmin())


def _bounds(fit: WoodFit, tone: FittedTone, mode: int) -> tuple[float, float]:
    """Return the 95 % interval [Hz] of a mode as it would be read in the entry's own climate."""
    half = TWO_SIDED_95 * float(np.hypot(fit.spreads[mode], READING))
    middle = float(fit.expected[mode]) * float(np.exp(-tone.shift))
    return middle * float(np.exp(-half)), middle * float(np.exp(half))


def _range(fit: WoodFit, tone: FittedTone, mode: int) -> str:
    low, high = _bounds(fit, tone, mode)
    return f"{low:.0f} to {high:.0f} Hz"


def _off(percent: float) -> str:
    return f"{abs(percent):.1f} % {'over' if percent > 0 else 'under'}"


def _named(key: str) -> str:
    return f"the {key_called(key)}" if key.startswith("#") else key_called(key)
