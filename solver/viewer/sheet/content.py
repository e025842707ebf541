"""What stands on a sheet for the bench."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import shapely

from solver.core.arrays import Floats
from solver.modal.modes import Modes
from solver.plate.plate import Plate
from solver.plate_folder.schema import LogEntry

USUAL_TONES = ("1", "2", "5")
"""The modes that makers tap for (common practice, no source)."""


Map = Callable[[Floats], Floats]
"""Something (n,) at plan points (n, 2) [m]."""


@dataclass(frozen=True, eq=False)
class Predicted:
    """Tones [Hz] by the trade's numbers, and the mass [kg], by a full solve of the thinned plate."""

    hz: Mapping[str, float]
    mass: float


@dataclass(frozen=True, eq=False)
class Removal:
    """Wood to take off in this pass: ``depth`` gives it (n,) [m] along the normal at plan points (n, 2) [m] as if there was
    no bar; under the bar nothing is taken.

    ``after`` this pass the plate is what is predicted, ``at_last`` after all that are planned, if it is a plan's; ``said``
    are sentences about it; ``trial`` is the name of the trial that takes it, if it is not a plan's.
    """

    depth: Map
    after: Predicted
    at_last: Predicted | None
    said: tuple[str, ...] = ()
    trial: str | None = None


@dataclass(frozen=True, eq=False)
class SheetContent:
    """A plate, its tones, what was measured and what is wanted of it.

    ``shown`` are the places in ``modes`` of the tones whose hold and tap are marked; ``log`` is oldest first;
    ``least`` gives the thickness (n,) [m] that may not be passed at plan points (n, 2) [m], if a limit is set;
    ``wanted_mass`` [kg]; ``contour_step`` [m] is the thickness from one line to the next, by need where it is not
    set.
    """

    folder_name: str
    made: date
    plate: Plate
    modes: Modes
    shown: tuple[int, ...]
    wanted_hz: Mapping[str, float]
    least: Map | None
    log: tuple[LogEntry, ...]
    removal: Removal | None = None
    wanted_mass: float | None = None
    contour_step: float | None = None

    @property
    def shows(self) -> str:
        """Say of which wood the sheet is: the plate as it is, a plan's first pass, or a trial."""
        if self.removal is None:
            return "as it is"
        return "first pass of a plan" if self.removal.trial is None else f"trial {self.removal.trial}"

    def taken(self, points: Floats) -> Floats:
        """Return the depth (n,) [m] to take at plan points (n, 2) [m]: that of the removal, but nothing under the bar."""
        if self.removal is None:
            return np.zeros(len(points))
        depth, bar = self.removal.depth(points), self.plate.bar
        if bar is None:
            return depth
        return np.where(shapely.contains_xy(shapely.Polygon(bar.footprint), points), 0.0, depth)

    def thickness_after(self, points: Floats) -> Floats:
        """Return the thickness (n,) [m] at plan points (n, 2) [m] once the removal is done."""
        return np.asarray(self.plate.graduation.at(points) - self.taken(points))
