"""What may stand in plate.toml and in a log entry: every key, its kind, its unit and its sensible range."""

from datetime import datetime
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from solver.plate_folder.quantities import (
    AcrossStiffness,
    AlongStiffness,
    Angle,
    BarHeight,
    BarWidth,
    Channel,
    Density,
    Fraction,
    Frequency,
    Humidity,
    Mass,
    Place,
    PoissonRatio,
    Rise,
    Share,
    ShearStiffness,
    Temperature,
    Thickness,
)


def refusal(kind: Literal["expected", "rule"], said: str) -> PydanticCustomError:
    """``expected``: said after the value that is refused; ``rule``: said after the table that breaks it."""
    return PydanticCustomError(kind, "{said}", {"said": said})


_MODE_NUMBERS = frozenset(str(number) for number in range(1, 100))


def _mode_number(text: str) -> str:
    if text not in _MODE_NUMBERS:
        raise refusal("expected", "expected the trade's number of the mode, a whole number such as 2 or 5.")
    return text


def _log_stamp(text: str) -> str:
    if not text or set(text) & set("/\\\0") or text.endswith(".toml"):
        raise refusal(
            "expected", "expected the name of the file of an entry without .toml, as in 2026-03-14T190500."
        )
    return text


def _in_a_calendar(taken: datetime) -> datetime:
    """Refuse years that overflow when a time is brought to another zone."""
    if not _YEARS[0] <= taken.year <= _YEARS[1]:
        raise refusal("expected", f"expected a year from {_YEARS[0]} to {_YEARS[1]}. Check the date.")
    return taken


_YEARS = (1500, 3000)

LogStamp = Annotated[str, AfterValidator(_log_stamp)]
Taken = Annotated[datetime, AfterValidator(_in_a_calendar)]
ModesHz = dict[Annotated[str, AfterValidator(_mode_number)], Frequency]


class Table(BaseModel):
    """A table of the file: nothing but the known keys, each of its own kind, unchangeable once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=True)


class OutlineTable(Table):
    """Which files hold the edge of the plate and of its holes."""

    file: str
    holes: tuple[str, ...] = Field(default=(), strict=False)


class ArchTable(Table):
    """Where the outer surface comes from: heights, sections, a drawing by rise and channel, or flat."""

    file: str | None = None
    sections: str | None = None
    rise_mm: Rise | None = None
    channel_mm: Channel | None = None
    flat: Literal[True] | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        _exactly_one(self, ("file", "sections", "rise_mm", "flat"))
        if (self.rise_mm is None) != (self.channel_mm is None):
            raise refusal(
                "rule", "gives one of rise_mm and channel_mm; expected both together. Add the other."
            )
        return self


class ThicknessTable(Table):
    """Where the thickness comes from: caliper readings, or one thickness everywhere."""

    file: str | None = None
    uniform_mm: Thickness | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        _exactly_one(self, ("file", "uniform_mm"))
        return self


class WoodTable(Table):
    """What is known of the wood; the species fills in the rest. A mass may stand in place of the density."""

    species: str | None = None
    density_kg_m3: Density | None = None
    mass_g: Mass | None = None
    EL_GPa: AlongStiffness | None = None
    ER_GPa: AcrossStiffness | None = None
    ET_GPa: AcrossStiffness | None = None
    GLR_GPa: ShearStiffness | None = None
    GLT_GPa: ShearStiffness | None = None
    GRT_GPa: ShearStiffness | None = None
    nu_LR: PoissonRatio | None = None
    nu_LT: PoissonRatio | None = None
    nu_RT: PoissonRatio | None = None
    grain_deg: Angle = 0.0
    ring_deg: Angle = 0.0

    @model_validator(mode="after")
    def _one_weight(self) -> Self:
        if self.density_kg_m3 is not None and self.mass_g is not None:
            raise refusal("rule", "gives both density_kg_m3 and mass_g; expected one of them. Take one out.")
        return self


class BarTable(Table):
    """The bass bar: its centre line in plan, its width, its height along it, its wood if not the plate's."""

    from_mm: tuple[Place, Place] = Field(strict=False)
    to_mm: tuple[Place, Place] = Field(strict=False)
    width_mm: BarWidth
    height_mm: Annotated[
        tuple[Annotated[tuple[Fraction, BarHeight], Field(strict=False)], ...],
        Field(strict=False, min_length=2),
    ]
    wood: WoodTable | None = None

    @model_validator(mode="after")
    def _profile_rises(self) -> Self:
        places = [fraction for fraction, _ in self.height_mm]
        if places != sorted(set(places)) or places[0] != 0 or places[-1] != 1:
            said = f"has height_mm at the fractions {', '.join(f'{p:g}' for p in places)}"
            raise refusal(
                "rule", f"{said}; expected them to rise from 0 to 1. Order them, and give both ends."
            )
        if max(height for _, height in self.height_mm) == 0:
            raise refusal(
                "rule",
                "has no height anywhere in height_mm; expected a bar. Leave the table out if there is none.",
            )
        return self


class ClimateTable(Table):
    """The room in which the stated constants hold."""

    temperature_c: Temperature
    humidity_pct: Humidity


class FormTable(Table):
    """By how much the arch was found to be higher or fuller than described; none of it in mm."""

    rise: Share = 0.0
    across: Share = 0.0
    along: Share = 0.0


class FittedTable(Table):
    """The record of one fit: the constants found, and how sure they are, for the intervals of all figures computed later.

    ``tones`` are those of the plate that was measured last, ``offsets`` what the model misses each of them by;
    ``covariance`` row by row up to its diagonal, of the logarithms of the constants, of arch, caliper and
    bar, and of the offsets.
    """

    date: Taken
    entries: tuple[str, ...] = Field(strict=False)
    density_kg_m3: Density
    EL_GPa: AlongStiffness
    ER_GPa: AcrossStiffness
    ET_GPa: AcrossStiffness
    GLR_GPa: ShearStiffness
    GLT_GPa: ShearStiffness
    GRT_GPa: ShearStiffness
    arch: FormTable = FormTable()
    caliper_mm: Share = 0.0
    bar_share: Share = 0.0
    uneven_share: Share = 0.0
    tones: tuple[str, ...] = Field(strict=False)
    offsets: tuple[Share, ...] = Field(strict=False)
    covariance: tuple[Annotated[tuple[float, ...], Field(strict=False)], ...] = Field(strict=False)

    @model_validator(mode="after")
    def _complete(self) -> Self:
        wanted = [*range(1, 13 + len(self.tones))]
        if len(self.offsets) != len(self.tones) or [len(row) for row in self.covariance] != wanted:
            raise refusal(
                "rule",
                "is not whole; expected one offset for each tone and a row of the covariance for each figure. Take the "
                "record out, and fit again.",
            )
        return self


class WantedTable(Table):
    """What the maker is after."""

    modes_hz: ModesHz = {}
    min_thickness_mm: Thickness | None = None


class PlateTable(Table):
    """The whole of plate.toml."""

    format: Literal[1]
    title: str = Field(min_length=1, max_length=200)
    role: Literal["top", "back", "panel"]
    outline: OutlineTable
    arch: ArchTable
    thickness: ThicknessTable
    wood: WoodTable
    bar: BarTable | None = None
    climate: ClimateTable | None = None
    wanted: WantedTable | None = None
    fitted: tuple[FittedTable, ...] = Field(default=(), strict=False)

    @property
    def fit_that_holds(self) -> FittedTable | None:
        """The newest record of a fit by its date, of two of one date the later in the file; None if [wood] holds."""
        records = sorted(self.fitted, key=lambda record: record.date.astimezone())
        return records[-1] if records else None


class LogEntry(Table):
    """One dated entry of the log: what was heard and weighed, and in which room.

    ``photo`` and ``recording`` are files inside the folder; ``corrects`` names the entry in whose place this one stands.
    ``thickness`` names the readings of that day, where the plate has been thinned since; ``without`` the parts that it did
    not have yet. Left out, the plate was as plate.toml says.
    """

    taken: Taken
    stage: str | None = None
    temperature_c: Temperature | None = None
    humidity_pct: Humidity | None = None
    mass_g: Mass | None = None
    modes_hz: ModesHz = {}
    tones_hz: tuple[Frequency, ...] = Field(default=(), strict=False)
    note: str | None = None
    photo: str | None = None
    recording: str | None = None
    corrects: LogStamp | None = None
    thickness: str | None = None
    without: tuple[Literal["holes", "bar"], ...] = Field(default=(), strict=False)


def _exactly_one(table: Table, names: tuple[str, ...]) -> None:
    """Refuse a table that gives none or several of the ways in which the same thing can be said."""
    given = [name for name in names if getattr(table, name) is not None]
    if len(given) != 1:
        said = f"gives {' and '.join(given) if given else 'none of its keys'}"
        cure = "Take the others out." if given else "Add one."
        raise refusal("rule", f"{said}; expected exactly one of {', '.join(names)}. {cure}")
