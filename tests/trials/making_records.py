"""What came out of simulated makings: a row for each, and the counts."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from solver.core.arrays import Floats

WISHED = ("2", "5")
NEAR_PCT, FAR_PCT = 1.5, 3.0
"""Within the one nearly all makings shall end, within the other all."""
CLAIMED_PCT = 0.3
"""Within this the program says that a wish holds or is met."""


@dataclass(frozen=True)
class Forecast:
    """What was foretold of a mode [Hz] and what it truly was; ``by`` says from which answer.

    ``carved``: what the plan's model makes of the wood really taken; ``planned``: the plan's own interval, were it
    carved to the hair; ``modes``: the table once the caliper had been over the plate again.
    """

    by: str
    stage: int
    mode: str
    low: float
    high: float
    true: float

    @property
    def holds(self) -> bool:
        """Tell whether the truth lies inside."""
        return self.low <= self.true <= self.high

    @property
    def half_pct(self) -> float:
        """Half the width of the interval in % of its middle."""
        return 100 * (self.high - self.low) / (self.high + self.low)


@dataclass(frozen=True)
class Said:
    """A sentence that the truth contradicts, or that doubts what is right, with how far off [%] where that can be told."""

    kind: str
    stage: int
    sentence: str
    off_pct: float = 0.0


@dataclass(frozen=True)
class Making:
    """One making: how it ended and everything that went with it.

    ``off_pct`` are the true tones against the wishes at the beginning and in the end; ``ring`` is the share of the ring
    that the maker's mode 5 showed and that of the next best tone.
    """

    kind: str
    number: int
    ended: str
    passes: int
    begin_pct: Mapping[str, float]
    off_pct: Mapping[str, float]
    ring: tuple[float, float]
    seconds: float
    refusals: tuple[Said, ...] = ()
    wrong: tuple[Said, ...] = ()
    doubted: tuple[Said, ...] = ()
    moved: tuple[str, ...] = ()
    forecasts: tuple[Forecast, ...] = field(default=())

    @property
    def worst_pct(self) -> float:
        """How far [%] the worse of modes 2 and 5 ended from its wish."""
        return max(abs(off) for off in self.off_pct.values())

    @property
    def name(self) -> str:
        """As ``--only`` takes it."""
        return f"{self.kind}:{self.number}"


def row(making: Making) -> str:
    """Return one line on a making, and one for each refusal, wrong sentence, doubt and missed interval."""
    begin, end = (
        " ".join(f"{mode}: {off[mode]:+5.2f} %" for mode in WISHED)
        for off in (making.begin_pct, making.off_pct)
    )
    moved = f"  number moved: {', '.join(making.moved)}" if making.moved else ""
    head = (
        f"{making.name:14} {making.ended:14} {making.passes} passes  began {begin}  ended {end}  "
        f"ring {making.ring[0]:.2f} ({making.ring[1]:.2f})  {making.seconds:.0f} s of processor time{moved}"
    )
    lines = [head]
    for title, said in (("refused", making.refusals), ("wrong", making.wrong), ("doubted", making.doubted)):
        lines += [
            f"    {title}, after pass {s.stage}, {s.kind} ({s.off_pct:+.2f} %): {s.sentence}" for s in said
        ]
    lines += [
        f"    missed, pass {f.stage}: mode {f.mode} by {f.by} {f.low:.1f} to {f.high:.1f}, true {f.true:.1f}"
        for f in making.forecasts
        if not f.holds
    ]
    return "\n".join(lines)


def counts(makings: Sequence[Making]) -> str:
    """Return what all makings come to."""
    total = len(makings)
    near = sum(making.worst_pct <= NEAR_PCT for making in makings)
    far = sum(making.worst_pct <= FAR_PCT for making in makings)
    refused = sum(bool(making.refusals) for making in makings)
    lines = [
        f"{total} makings: {refused} with a refusal; within {NEAR_PCT} % {near}, within {FAR_PCT} % {far}; worst "
        f"{max((making.worst_pct for making in makings), default=0.0):.2f} %; median passes "
        f"{np.median([making.passes for making in makings] or [0]):.0f}",
        f"ended: {_tally(making.ended for making in makings)}",
        f"wrong sentences: {_tally(said.kind for making in makings for said in making.wrong) or 'none'}",
        f"right things doubted: {_tally(said.kind for making in makings for said in making.doubted) or 'none'}",
    ]
    forecasts = [forecast for making in makings for forecast in making.forecasts]
    for by in sorted({forecast.by for forecast in forecasts}):
        lines += [_intervals(by, mode, forecasts) for mode in ("1", *WISHED)]
    return "\n".join(lines)


def _tally(kinds: Iterable[str]) -> str:
    counted = Counter(kinds)
    return ", ".join(f"{kind} {count}" for kind, count in counted.most_common())


def _intervals(by: str, mode: str, forecasts: Sequence[Forecast]) -> str:
    mine = [forecast for forecast in forecasts if (forecast.by, forecast.mode) == (by, mode)]
    if not mine:
        return f"{by}, mode {mode}: no interval"
    held = sum(forecast.holds for forecast in mine)
    widths: Floats = np.array([forecast.half_pct for forecast in mine])
    return (
        f"{by}, mode {mode}: {held} of {len(mine)} intervals right ({100 * held / len(mine):.0f} %), "
        f"half as wide as ± {np.median(widths):.2f} % (median; greatest {widths.max():.2f})"
    )
