"""What stands on a sheet for the bench."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

from solver.arrays import Floats
from solver.modal.modes import Modes
from solver.plate.plate import Plate
from solver.plate_folder.schema import LogEntry

USUAL_TONES = ("1", "2", "5")
"""The modes that makers tap for (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Removal:
    """Wood to take off: ``depth`` gives it (n,) [m] along the normal at plan points (n, 2) [m].

    ``predicted_hz`` are the tones it leads to, by the trade's numbers, ``predicted_mass`` [kg] what is left.
    """

    depth: Callable[[Floats], Floats]
    predicted_hz: Mapping[str, float]
    predicted_mass: float


@dataclass(frozen=True, eq=False)
class SheetContent:
    """A plate, its tones, what was measured and what is wanted of it.

    ``shown`` are the places in ``modes`` of the tones whose hold and tap are marked; ``log`` is oldest first;
    ``min_thickness`` [m] is the limit nowhere to be passed, if one is set.
    """

    folder_name: str
    made: date
    plate: Plate
    modes: Modes
    shown: tuple[int, ...]
    wanted_hz: Mapping[str, float]
    min_thickness: float | None
    log: tuple[LogEntry, ...]
    removal: Removal | None = None

    def thickness_after(self, points: Floats) -> Floats:
        """Return the thickness (n,) [m] at plan points (n, 2) [m] once the removal is done."""
        now = self.plate.graduation.at(points)
        return now if self.removal is None else now - self.removal.depth(points)
