"""What looks like a slip in a new entry of the log: said before it is entered, never mended in silence."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import combinations
from math import log

from solver.core.units import OUNCE_G
from solver.plate_folder.schema import LogEntry

MASS_CHANGES = (0.6, 1.15)
"""Mass over the last one that carving, gluing a bar and weather make (common practice, no source)."""

TONE_CHANGES = (0.75, 1.33)
"""The same for one tone: a hollowed plate loses a seventh when its holes are cut (common practice, no source)."""

LIGHTEST_G = 10.0
"""No top or back weighs less, small violins' included (common practice, no source)."""

SHOP_C, SHOP_PCT = (0.0, 35.0), (15.0, 90.0)
"""Temperature and humidity of rooms in which plates are carved (common practice, no source)."""

_NEAR = 0.2
"""Share by which a figure may differ from the last and still be taken for the same one with a slip in it."""
_CLOCKS = timedelta(minutes=10)
_MOMENT = timedelta(minutes=2)


def doubts_of(entry: LogEntry, before: Sequence[LogEntry], role: str, now: datetime) -> tuple[str, ...]:
    """Return a sentence for everything in an entry that is probably a slip; none where it is plausible.

    It is held against the entries ``before`` it, oldest first: the last that has the figure in question.
    """
    tones: dict[str, float] = {}
    for earlier in before:
        tones |= earlier.modes_hz
    masses = [earlier.mass_g for earlier in before if earlier.mass_g is not None]
    return (
        *_of_date(entry, now),
        *_of_twice(entry, before),
        *_of_mass(entry.mass_g, masses[-1] if masses else None, role),
        *_of_modes(entry.modes_hz, tones),
        *_of_room(entry),
    )


def _of_date(entry: LogEntry, now: datetime) -> Iterator[str]:
    if entry.taken.astimezone() > now + _CLOCKS:
        yield f"taken is {entry.taken:%Y-%m-%d %H:%M}, which is still to come. Check the date and the clock."


def _of_twice(entry: LogEntry, before: Sequence[LogEntry]) -> Iterator[str]:
    """Yield a doubt about what was entered a moment ago, as by someone who saw the program end and tries again."""
    if entry.mass_g is None and not entry.modes_hz and not entry.tones_hz:
        return
    for earlier in before:
        since = entry.taken.astimezone() - earlier.taken.astimezone()
        if timedelta() < since <= _MOMENT and _said(entry) == _said(earlier):
            yield (
                f"the same was entered {since.total_seconds():.0f} s before, at {earlier.taken:%H:%M:%S}. If it is no "
                "second reading, there is nothing to do."
            )
            return


def _said(entry: LogEntry) -> dict[str, object]:
    """Return what an entry says, without its time and its files."""
    return entry.model_dump(exclude={"taken", "photo", "recording", "thickness"})


def _of_mass(mass: float | None, last: float | None, role: str) -> Iterator[str]:
    if mass is None:
        return
    if last is None:
        if role != "panel" and mass < LIGHTEST_G:
            yield f"mass_g is {mass:g}, too light for a {role}. If that was ounces, write {mass * OUNCE_G:.1f}."
    elif not MASS_CHANGES[0] <= mass / last <= MASS_CHANGES[1]:
        slips = (
            ("that was ounces", mass * OUNCE_G),
            ("a digit is missing", 10 * mass),
            ("a point is missing", mass / 10),
        )
        yield f"mass_g is {mass:g}, last it was {last:g}. {_cure(slips, last)}"


def _of_modes(modes: Mapping[str, float], last: Mapping[str, float]) -> Iterator[str]:
    """Yield doubts about modes whose order is turned round, and about single tones far from their last."""
    exchanged: set[str] = set()
    for low, high in combinations(sorted(modes, key=int), 2):
        if modes[low] >= modes[high] and _fit_exchanged(low, high, modes, last):
            yield (
                f"mode {low} is {modes[low]:g} Hz and mode {high} {modes[high]:g} Hz, lower. "
                "Check whether the two were exchanged."
            )
            exchanged |= {low, high}
    for name, hz in modes.items():
        if name in last and name not in exchanged and not _usual(hz / last[name]):
            yield f"mode {name} is {hz:g} Hz, last it was {last[name]:g} Hz. {_of_tone(name, hz, last)}"


def _fit_exchanged(low: str, high: str, modes: Mapping[str, float], last: Mapping[str, float]) -> bool:
    """Tell whether two modes, the lower number above, would suit what they were last if they were exchanged."""
    if low not in last or high not in last:
        return True
    as_typed = abs(log(modes[low] / last[low])) + abs(log(modes[high] / last[high]))
    turned = abs(log(modes[low] / last[high])) + abs(log(modes[high] / last[low]))
    return turned < as_typed / 2


def _usual(change: float) -> bool:
    return TONE_CHANGES[0] <= change <= TONE_CHANGES[1]


def _of_tone(name: str, hz: float, last: Mapping[str, float]) -> str:
    others = [other for other in last if other != name and _is_near(hz, last[other])]
    if others:
        return f"If it is mode {others[0]}, last {last[others[0]]:g} Hz, write {others[0]}={hz:g}."
    slips = (
        ("a digit is missing", 10 * hz),
        ("a point is missing", hz / 10),
        ("that was its octave", hz / 2),
        ("that was the octave below", 2 * hz),
    )
    return _cure(slips, last[name])


def _of_room(entry: LogEntry) -> Iterator[str]:
    warm, damp = entry.temperature_c, entry.humidity_pct
    if warm is not None and not SHOP_C[0] <= warm <= SHOP_C[1]:
        by_fahrenheit = (warm - 32) / 1.8
        cure = f"If that was degrees Fahrenheit, write {by_fahrenheit:.1f}." if _shop(by_fahrenheit) else ""
        if damp is not None and _shop(damp) and warm > SHOP_C[1]:
            cure = "Check whether temperature and humidity were exchanged."
        yield f"temperature_c is {warm:g}, unusual for a shop. {cure or 'Check the instrument.'}"
    elif damp is not None and not SHOP_PCT[0] <= damp <= SHOP_PCT[1]:
        yield f"humidity_pct is {damp:g}, unusual for a shop. Check the instrument."


def _shop(temperature_c: float) -> bool:
    return SHOP_C[0] <= temperature_c <= SHOP_C[1]


def _cure(slips: Sequence[tuple[str, float]], last: float) -> str:
    """Name the slip that explains a figure, which is that after which it would be near the last one."""
    known = (f"If {slip}, write {mended:.4g}." for slip, mended in slips if _is_near(mended, last))
    return next(known, "Check its digits.")


def _is_near(value: float, last: float) -> bool:
    return abs(value / last - 1) <= _NEAR
