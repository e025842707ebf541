"""What the weather did, in words: how the band is made, what the scales said, how much of a change the weather explains."""

from collections.abc import Iterator, Sequence

from solver.advice.climate_log import READING_HZ, Weathered, WeatherPart
from solver.advice.climate_shift import WeatherResponse
from solver.advice.slips import slip_in_tone
from solver.modal.modes import Modes
from solver.plate.climate import moisture_losses, weather_species
from solver.plate.wood import Wood
from solver.plate_folder.log_doubts import TONE_CHANGES

FARTHEST = (0.5, 2.0)
"""Tones in the log over those of the plate as described: between them lie all states from rough to finished (common
practice, no source)."""


def said_of_band(wood: Wood) -> Iterator[str]:
    """Yield how low and high come about."""
    along, across, shear = 100 * moisture_losses(wood)
    yield (
        f"How the band is made: per 1 % moisture EL loses {along[0]:.1f} to {along[1]:.1f} % - one end is Wood Handbook "
        "eq. (5-3), the other the speed of sound measured on Scots pine (Montero 2015: 0.65 % slower). The Handbook has no "
        f"such rule for ER, ET and the shear moduli: they lose from {across[0]:.1f} %, carried over from EL, to "
        f"{across[1]:.1f} % and {shear[1]:.1f} %, the middle trend of its Table 5-14. Warmth by Table 5-15, across and in "
        "shear anywhere from the share of EL to its own: compare tones taken at one temperature. Poisson's ratios are "
        "kept; a bar answers like the plate."
    )


def said_of_settling(response: WeatherResponse) -> Iterator[str]:
    """Yield from which wood the drying is taken, where it is not the plate's own."""
    wood = response.plate.wood
    species = weather_species(wood)
    if not wood.species:
        yield f"plate.toml names no species: moisture is taken to act as on {species.name}, a wood of like weight."
    elif species.drying.stiffening.kind == "assumed":
        yield f"How {species.name} answers to moisture is {species.drying.stiffening.source}."


def said_of_entries(entries: Sequence[Weathered]) -> Iterator[str]:
    """Yield what is to be known of the moisture of the log's entries."""
    for entry in entries:
        name = f"log/{entry.observation.name}"
        if entry.carved:
            yield (
                f"{name}: no weather makes the difference of its mass from the weighing before, so wood came off or on; "
                "its moisture is taken from the room."
            )
        if entry.known_by == "between":
            yield (
                f"{name} was taken within three days of an entry in another room: the plate was in between, at "
                f"{entry.low:.1f} to {entry.high:.1f} % moisture. Wait, or weigh it before and after."
            )
    if weighed := [entry.observation.name for entry in entries if entry.known_by == "scales"]:
        yield f"The scales tell the moisture better than the air, and were used for {', '.join(weighed)}."


def said_of_tones(entries: Sequence[Weathered], modes: Modes) -> Iterator[str]:
    """Yield what to do about each tone of the log that no state of a plate like this one can have.

    A tone of a known mode is held against that of the plate as plate.toml has it, one of none against the lowest.
    """
    named = {name: float(hz) for name, hz in zip(modes.names, modes.hz, strict=True) if name}
    lowest, highest = float(modes.hz.min()), float(modes.hz.max())
    for entry in entries:
        seen = entry.observation
        for mode, hz in seen.hz.items():
            if mode in named and not FARTHEST[0] <= hz / named[mode] <= FARTHEST[1]:
                yield _impossible(seen.name, f"mode {mode}", hz, named[mode], named[mode])
        for hz in seen.tones:
            if hz < FARTHEST[0] * lowest:
                yield _impossible(seen.name, "a tone", hz, lowest, highest)


def _impossible(entry: str, tone: str, hz: float, low: float, high: float) -> str:
    """Say that a tone [Hz] cannot be this plate's, whose own lie from ``low`` to ``high`` [Hz] as it is described."""
    cure = slip_in_tone(hz, TONE_CHANGES[0] * low, TONE_CHANGES[1] * high) or "Tap again."
    own = f"{low:.0f} Hz" if low == high else f"{low:.0f} Hz or more"
    return (
        f"log/{entry}: {tone} at {hz:g} Hz is listed as noted, but cannot be this plate's; expected about {own}, as "
        f"plate.toml has it. {cure}"
    )


def said_of_change(part: WeatherPart) -> str:
    """Say how much of a tone's change the weather explains."""
    change = part.after - part.before
    low, high = part.low - part.before, part.high - part.before
    did = f"{'rose' if change > 0 else 'fell'} by {abs(change):.1f} Hz"
    weather = f"the weather alone makes {_hz(low, high)}"
    rest = f"{_hz(change - high, change - low)} is from the wood, carved or glued"
    if abs(change) <= READING_HZ:
        did = "stayed, as far as a reading tells"
    if not part.goes_beyond:
        return f"Mode {part.mode} {did}; {weather}: that explains it."
    if abs(change) <= READING_HZ:
        return f"Mode {part.mode} {did}; {weather}, so {rest}."
    least, most = (100 * share for share in part.shares)
    share = f"{max(least, 0):.0f} to {most:.0f} % of that" if most > 0 else "the other way"
    return f"Mode {part.mode} {did}; {weather}, {share}; {rest}."


def _hz(low: float, high: float) -> str:
    ends = [f"{value:+.1f}" for value in (low, high)]
    return f"{ends[0]} Hz" if ends[0] == ends[1] else f"{ends[0]} to {ends[1]} Hz"
