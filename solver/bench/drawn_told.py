"""What the page is told to draw: the plate, its maps, lines and shapes, in mm of the plan unless the name says else."""

from typing import NotRequired, TypedDict

from solver.bench.told import Microns, Understood

Line = list[list[float]]
"""Points of a line in plan."""


class Grid(TypedDict):
    """The thickness on the picture's grid."""

    x0_mm: float
    y0_mm: float
    step_mm: float
    rows: int
    columns: int
    thickness_um: Microns


class Colours(TypedDict):
    """The colours of maps, from low to high."""

    thickness: list[str]
    change: list[str]
    taken: list[str]


class Drawn(TypedDict):
    """A plate as it is drawn small."""

    bounds_mm: list[float]
    edge_mm: Line
    holes_mm: list[Line]
    grid: Grid
    colours: Colours
    deepest_mm: float


class Wanted(TypedDict):
    """What is wanted of the plate, and what was measured last."""

    wanted_hz: dict[str, float]
    least_mm: float | None
    measured_hz: dict[str, float]
    measured: str | None


class Picture(Drawn, Wanted):
    """A plate as it is drawn large."""

    title: str
    role: str
    ends: list[str]
    sides: list[str]
    bar_mm: Line | None
    readings_mm: Line
    guess: str
    alike: bool


class PlatePicture(Picture):
    """An open plate with its picture, as its files now say."""

    plate: str
    folder: str
    mark: str


class Shapes(TypedDict):
    """The surface at rest and its motion, as little-endian numbers in base64."""

    points: int
    at_rest_mm: str
    normals: str
    triangles: str
    motion: list[str]
    outward: list[str]


class KeptGap(TypedDict):
    """Distances between seen and computed lines, none where one of them has no lines."""

    half_mm: float | None
    most_mm: float | None


class KeptLines(TypedDict):
    """A file of seen lines: ``refused`` is why it cannot be read, else all the others are there."""

    name: str
    refused: NotRequired[str]
    lines_mm: NotRequired[list[Line]]
    likest: NotRequired[int | None]
    gaps: NotRequired[list[KeptGap]]


class AllKeptLines(TypedDict):
    """Every file of seen lines."""

    kept: list[KeptLines]


class PlacesToPointAt(TypedDict):
    """The places by which a photo can be laid on the plate."""

    places: list[str]


class PointedAt(TypedDict):
    """Where the camera sees a place [px]."""

    place: str
    pixel: list[float]


class PowderDrawn(TypedDict):
    """What is drawn over the photo laid flat."""

    bounds_mm: list[float]
    seen_mm: list[Line]
    computed_mm: list[list[Line]]
    words: list[str]
    places: list[PointedAt]


class ShavingMapsShown(TypedDict):
    """What a shaving does to each tone on the grid [mHz], none where it is not known."""

    milli_hz: list[list[float | None]]


class Checked(Understood):
    """The same of a draft, with its picture."""

    picture: Picture
