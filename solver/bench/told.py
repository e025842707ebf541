"""What the page is told: the objects that go over the wire, each described once; those that are drawn in `drawn_told`.

What a command prints for other programs goes to the page as it is, and is described with the command.
"""

from collections.abc import Mapping
from typing import TypedDict

Answer = Mapping[str, object]
"""An object of a command, as it is or with more beside it."""

Microns = list[int]
"""Lengths in micrometres at the points of the picture's grid, row by row along the plate."""


class PlateKey(TypedDict):
    """The key of a plate that is open now."""

    plate: str


class Written(TypedDict):
    """The files that were written."""

    written: list[str]


class WrittenOne(TypedDict):
    """The file, or the time of the record, that was written."""

    written: str


class Size(TypedDict):
    """How large a file is that can be fetched."""

    bytes: int


class Entered(TypedDict):
    """The stamp of the entry that was added, none where the ``doubts`` are asked about first."""

    entered: str | None
    doubts: list[str]


class Named(TypedDict):
    """What a plate in a folder is called; ``role`` is none where its description cannot be read."""

    title: str
    role: str | None
    folder: str


class Offered(Named):
    """A folder that may be opened."""

    offer: str


class Open(Named):
    """A plate that is open."""

    plate: str


class Start(TypedDict):
    """What the first page shows."""

    open: list[Open]
    recent: list[Offered]
    beside: list[Offered]
    demonstrations: list[Offered]
    like: list[str]
    place: str


class Partners(TypedDict):
    """The plates of the other role."""

    role: str
    others: list[Offered]
    intervals: list[str]


class Shelf(TypedDict):
    """A folder in which plates lie."""

    shelf: str
    folder: str
    plates: int


class Shelves(TypedDict):
    """All of them, and the figures of which one may ask."""

    shelves: list[Shelf]
    figures: list[str]


class JobTold(TypedDict):
    """How a piece of long work stands."""

    key: str
    title: str
    state: str
    said: str
    share: float
    parts: list[str]
    result: Answer | None


class Understood(TypedDict):
    """What was understood of a description, as headings with sentences, and what to look at."""

    words: list[list[str]]
    doubts: list[str]


class Field(TypedDict):
    """A field of the form."""

    key: str
    label: str
    unit: str
    choices: list[str]
    value: str


class Group(TypedDict):
    """Fields under a heading."""

    name: str
    fields: list[Field]


class Columns(TypedDict):
    """The columns of the tables that can be pasted."""

    thickness: list[str]
    arch: list[str]


class Form(TypedDict):
    """The form of a description, filled."""

    groups: list[Group]
    thickness: str
    arch: str
    columns: Columns


class BarShown(TypedDict):
    """The bar from which one begins; ``usual`` where the plate has none."""

    usual: bool
    from_mm: list[float]
    to_mm: list[float]
    length_mm: float
    width_mm: float
    height_mm: float


class BarWritten(WrittenOne):
    """Where the bar was written, and its lines there."""

    lines: str


class WoodEntry(TypedDict):
    """An entry that tells of the wood; ``tones`` is how many."""

    entry: str
    taken: str
    stage: str | None
    tones: int
    usual: bool


class WoodShown(TypedDict):
    """What can be fitted, the record that holds, and the stated room."""

    entries: list[WoodEntry]
    holds: str | None
    room: list[float] | None


class LogEntryShown(TypedDict):
    """An entry as the form is filled with it."""

    entry: str
    taken: str
    mass: str
    modes: dict[str, str]
    tones: str
    temperature: str
    humidity: str
    stage: str
    note: str
    photo: str | None
    recording: str | None
    thickness: str | None
    parts: str


class LogForm(TypedDict):
    """What the form of an entry asks for, and what can be corrected."""

    modes: list[str]
    last: dict[str, str]
    stages: list[str]
    entries: list[LogEntryShown]


class Tile(TypedDict):
    """A sheet of paper on the plate [mm]."""

    name: str
    left: float
    bottom: float
    width: float
    height: float


class PlanWishes(TypedDict):
    """What a plan goes by."""

    modes_hz: dict[str, float]
    least_mm: float | None


class SheetShown(TypedDict):
    """What may be drawn, and where the sheets lie."""

    papers: list[str]
    passes: list[int]
    wishes: PlanWishes
    trials: list[str]
    said: str
    tiles: list[Tile]


class SheetDrawn(Size):
    """A sheet that was drawn, and the wood to take."""

    said: list[str]
    taken_um: Microns | None
