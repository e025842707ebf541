"""What a fit could not believe, in words: tones that go with no mode or with another, masses that cannot be, a drift."""

from collections.abc import Iterator

import numpy as np

from solver.advice.fit_close_tones import of_close, of_shared, of_woods
from solver.advice.fit_doubt import (
    Doubt,
    bounds,
    highest_mode,
    hz_range,
    key_of,
    mode_of,
    named,
    nearest_mode,
    off_said,
    own_mode,
)
from solver.advice.fitted_wood import Drift, FittedTone, WoodFit
from solver.advice.slips import slip_in_mass, slip_in_tone, slip_of_point
from solver.core.units import GRAM

STANDS_OFF = 0.5
"""Weight below which a tone that was used is named."""
DRIFT = 3.0
"""Standard deviations by which the tones of an entry may lie off all others before no wood explains it."""


def doubts_in(fit: WoodFit) -> tuple[Doubt, ...]:
    """Return all that the fit doubts, tones first; an exchange is said once."""
    tones: list[Doubt] = []
    for tone in fit.tones:
        doubt = _of_tone(fit, tone)
        if doubt is not None and not any(_same_exchange(doubt, said) for said in tones):
            tones.append(doubt)
    return (
        *_of_entries(fit),
        *tones,
        *of_shared(fit),
        *of_close(fit),
        *of_woods(fit),
        *_of_masses(fit),
        *_of_drifts(fit),
    )


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
            if t.entry == tone.entry and t.number == better and key_of(fit, t) == tone.number
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
            f"exchanged; expected mode {better} at {hz_range(fit, tone, mode)} and mode {tone.number} at "
            f"{hz_range(fit, partner, mode_of(partner))}. Neither was used. If so, correct the entry: "
            f"mode {tone.number} at {partner.hz:g} Hz, mode {better} at {tone.hz:g} Hz; then fit again.",
        )
    own = own_mode(fit, tone)
    expected = f" and mode {tone.number} at {hz_range(fit, tone, own)}" if own is not None else ""
    slip = slip_in_tone(tone.hz, *bounds(fit, tone, own)) if own is not None else ""
    return Doubt(
        "wrong number",
        tone.entry,
        tone.hz,
        tone.number,
        better,
        f"log/{tone.entry}: {tone.hz:g} Hz stands as mode {tone.number} but goes better with {named(better)}; expected "
        f"{named(better)} at {hz_range(fit, tone, mode)}{expected}. It was not used. "
        f"{slip or 'Look at its powder pattern, and number it anew.'}",
    )


def _no_mode(fit: WoodFit, tone: FittedTone) -> Doubt:
    own = own_mode(fit, tone)
    start = f"log/{tone.entry}: {tone.hz:g} Hz"
    if own is None:
        near = nearest_mode(fit, tone)
        if tone.hz > bounds(fit, tone, highest_mode(fit, tone))[1]:
            return _too_high(fit, tone)
        slip = _slip_of_unnumbered(fit, tone, near)
        said = (
            f"{start} goes with no mode; expected {named(fit.keys[near])} nearest to it, at "
            f"{hz_range(fit, tone, near)}. It was not used. {slip or 'Tap again.'}"
        )
        return Doubt("no mode", tone.entry, tone.hz, tone.number, None, said)
    slip = slip_in_tone(tone.hz, *bounds(fit, tone, own))
    said = (
        f"{start} cannot be mode {tone.number}; expected {hz_range(fit, tone, own)} by all other figures. It was not used. "
        f"{slip or 'Tap again, or look at its powder pattern.'}"
    )
    return Doubt("no mode", tone.entry, tone.hz, tone.number, None, said)


def _slip_of_unnumbered(fit: WoodFit, tone: FittedTone, near: int) -> str:
    """Return the slip that makes a tone without a number one of those that its entry lacks; empty if none does.

    Any slip may lead to the nearest; to the others, which are many, only that of the decimal point.
    """
    heard = {t.pairing.mode for t in fit.tones if t.entry == tone.entry}
    missing = [i for i in np.flatnonzero(fit.states == tone.state).tolist() if i not in heard]
    nearest = slip_in_tone(tone.hz, *bounds(fit, tone, near)) if near in missing else ""
    points = (slip_of_point(tone.hz, *bounds(fit, tone, mode)) for mode in missing)
    return nearest or next(filter(None, points), "")


def _too_high(fit: WoodFit, tone: FittedTone) -> Doubt:
    top = highest_mode(fit, tone)
    said = (
        f"log/{tone.entry}: {tone.hz:g} Hz lies above all tones that the fit looks at; expected the highest of them, "
        f"{named(fit.keys[top])}, at {hz_range(fit, tone, top)}. It was not used. Lower tones tell more of the wood."
    )
    return Doubt("no mode", tone.entry, tone.hz, tone.number, None, said)


def _unsure(fit: WoodFit, tone: FittedTone) -> Doubt:
    mode, other = mode_of(tone), tone.pairing.other
    chance = f"{100 * tone.pairing.probability:.0f} %"
    rest = "no mode at all" if other is None else f"{named(fit.keys[other])} at {hz_range(fit, tone, other)}"
    better = None if other is None else fit.keys[other]
    return Doubt(
        "unsure",
        tone.entry,
        tone.hz,
        tone.number,
        better,
        f"log/{tone.entry}: {tone.hz:g} Hz is {named(fit.keys[mode])} at {hz_range(fit, tone, mode)} with {chance} only; "
        f"it may be {rest}. It was not used. Its powder pattern tells which: correct the "
        "entry, and give the tone that number.",
    )


def _stands_off(fit: WoodFit, tone: FittedTone) -> Doubt:
    mode = mode_of(tone)
    off = 100 * float(np.expm1(fit.residual(tone)))
    return Doubt(
        "stands off",
        tone.entry,
        tone.hz,
        tone.number,
        None,
        f"log/{tone.entry}: {named(fit.keys[mode])} at {tone.hz:g} Hz lies {off_said(off)} "
        f"what all others make of it; expected {hz_range(fit, tone, mode)}. It counted for {100 * tone.weight:.0f} %. "
        "Tap it again.",
    )


def _of_entries(fit: WoodFit) -> Iterator[Doubt]:
    for entry, remark in fit.remarks:
        start = f"log/{entry}: {remark} Until it is corrected (platewright log --corrects {entry.removesuffix('.toml')})"
        yield Doubt("stage", entry, None, None, None, f"{start} it was fitted as plate.toml says.")


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
        f"log/{drift.entry}: its tones lie {off_said(off)} what the other entries' wood makes of them; "
        f"expected within {100 * DRIFT * drift.spread:.1f} %. No one wood explains both. Look at the thickness, the "
        "parts and the room noted for it.",
    )
