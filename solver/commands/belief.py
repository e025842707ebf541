"""What the log has taught of the wood of a folder's plate, for the intervals of all that is computed of it."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from solver.advice.fitted_tones import FittedBelief, solve_fitted
from solver.advice.forecast import Forecast
from solver.modal.modes import Modes, solve_modes
from solver.plate.plate import Plate
from solver.plate_folder.log_states import plate_doubts

if TYPE_CHECKING:
    from solver.plate_folder.read import PlateFolder

FITTED_NOTE = (
    "95 %: where it lies by what the log told of this wood (platewright fit) and the model leaves open."
)


def belief_of(read: "PlateFolder", plate: Plate) -> FittedBelief | None:
    """Return the belief for the plate of a folder, or for the same with other parts; None until its wood was fitted."""
    believed = beliefs_of(read)
    return None if believed is None else believed(plate)


def beliefs_of(read: "PlateFolder") -> Callable[[Plate], FittedBelief] | None:
    """Return what gives the belief for the plate of a folder with whichever parts; None until its wood was fitted."""
    posterior = read.posterior
    if posterior is None:
        return None
    return lambda plate: FittedBelief(posterior, plate_doubts(read.description, plate))


def solve_as_expected(read: "PlateFolder", plate: Plate, count: int) -> tuple[Modes, Forecast | None]:
    """Return the modes, at the frequencies expected where the wood was fitted, and then their intervals.

    Raises InputError if the count is none, or no sound mesh can be made.
    """
    belief = belief_of(read, plate)
    if belief is None:
        return solve_modes(plate, count), None
    modes, tones = solve_fitted(plate, belief, count)
    return modes, tones.forecast
