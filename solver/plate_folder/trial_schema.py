"""What stands in the file of a trial: the strokes of a scraper on the screen, and a plan drawn under them."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solver.plate_folder.quantities import CutDepth, Place, ScraperWidth
from solver.plate_folder.schema import Table, Taken, refusal

MOST_STROKES = 1000
MOST_POINTS = 2000
"""Points of one stroke: more than a hand makes in a minute."""

_MOST_KNOTS = 400
_ORDER = 4
"""Knots that a row of cubic splines has more than coefficients."""

_Knots = Annotated[tuple[Place, ...], Field(strict=False, min_length=2 * _ORDER, max_length=_MOST_KNOTS)]


class StrokeTable(Table):
    """One stroke of a scraper: how wide, how deep in the middle, and the way it went in plan."""

    width_mm: ScraperWidth
    cut_mm: CutDepth
    path_mm: Annotated[
        tuple[Annotated[tuple[Place, Place], Field(strict=False)], ...],
        Field(strict=False, min_length=1, max_length=MOST_POINTS),
    ]


class PlannedTable(Table):
    """A carving plan drawn into the trial: a smooth map of depths, by the coefficients of its cubic splines."""

    x_knots_mm: _Knots
    y_knots_mm: _Knots
    depth_mm: Annotated[tuple[Annotated[tuple[CutDepth, ...], Field(strict=False)], ...], Field(strict=False)]

    @model_validator(mode="after")
    def _fits(self) -> Self:
        rows, columns = len(self.x_knots_mm) - _ORDER, len(self.y_knots_mm) - _ORDER
        if len(self.depth_mm) != rows or any(len(row) != columns for row in self.depth_mm):
            said = f"has depth_mm of another size than its knots; expected {rows} rows of {columns}"
            raise refusal("rule", f"{said}. Draw the plan again.")
        return self

    @model_validator(mode="after")
    def _knots_rise(self) -> Self:
        for name in ("x_knots_mm", "y_knots_mm"):
            knots = getattr(self, name)
            if [*knots] != sorted(knots):
                raise refusal("rule", f"has {name} that fall; expected them to rise. Draw the plan again.")
            if knots[_ORDER - 1] == knots[-_ORDER]:
                raise refusal(
                    "rule",
                    f"has {name} without a step between them; expected them to rise. Draw the plan again.",
                )
        return self


class TrialTable(Table):
    """A named trial: the strokes in their order, the plan under them if one was drawn in, and what was taken back.

    The last of ``undone`` was taken back last, and is made again first.
    """

    format: Literal[1] = 1
    name: str = Field(min_length=1, max_length=60)
    begun: Taken
    carved: Taken | None = None
    plan: PlannedTable | None = None
    strokes: Annotated[tuple[StrokeTable, ...], Field(strict=False, max_length=MOST_STROKES)] = ()
    undone: Annotated[tuple[StrokeTable, ...], Field(strict=False, max_length=MOST_STROKES)] = ()
