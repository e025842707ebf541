"""What the page is told of trials: wood taken on the screen, and the tones that follow."""

from typing import NotRequired, TypedDict

from solver.bench.drawn_told import Line
from solver.bench.told import Answer, Microns


class TrialTone(TypedDict):
    """A tone before and now; its interval is there once the wood was fitted."""

    order: int
    order_after: int
    before_hz: float
    hz: float
    doubt_hz: float
    note: str
    cents: float
    low_hz: NotRequired[float]
    high_hz: NotRequired[float]


class TrialFigures(TypedDict):
    """What becomes of the plate."""

    modes: list[TrialTone]
    mass_g: float
    removed_g: float
    deepest_mm: float
    thinnest_mm: float
    thinnest_at_mm: list[float]
    thinnest_words: str
    holds: bool
    too_thin: bool


class Patch(TypedDict):
    """A rectangle of the picture's grid, and what is taken there."""

    row: int
    column: int
    rows: int
    columns: int
    taken_um: Microns


class Effect(TrialFigures):
    """What a stroke does; ``patch`` is where something changed."""

    patch: Patch | None


class TrialAbout(TypedDict):
    """What a trial is called and how far it has come."""

    key: str
    version: str
    name: str
    begun: str
    carved: str | None
    planned: bool
    strokes: int
    undone: int


class TrialShown(TrialAbout, TrialFigures):
    """A trial in the list."""


class WholeTrial(TrialShown):
    """A trial with all that it takes on the picture's grid."""

    taken_um: Microns


class TrialStroke(TrialAbout, Effect):
    """A trial after a stroke was made or taken back."""


class TrialLines(TypedDict):
    """The node lines of each tone of one version of a trial."""

    version: str
    lines_mm: list[list[Line]]


class Trials(TypedDict):
    """The trials of a plate."""

    trials: list[TrialShown]


class AllTrials(Trials):
    """The same beside the plate as it stands."""

    untouched: TrialFigures


class PlannedTrial(TypedDict):
    """What a plan answers, and the trial into which it was drawn."""

    plan: Answer
    trial: WholeTrial
