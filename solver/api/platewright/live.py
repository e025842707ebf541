"""The live model of a plate: tones after any hollows in hundredths of a second, once it is built."""

from dataclasses import dataclass

from threadpoolctl import threadpool_limits

from meshes.removal import Removal, Together
from platewright.plates import Plate
from solver.advice.plan_trials import plan_bench
from solver.core.arrays import Floats, freeze
from solver.modal.assembly import assemble
from solver.modal.modes import modes_of
from solver.modal.reduced import ReducedModel, reduced_model

_KNOWN = 20
"""Tones computed, from which the model is built."""


@dataclass(frozen=True, eq=False)
class LiveTones:
    """Tones (8,) [Hz] of a plate thinned live, and how far each may be ``off`` (8,) [Hz] from a full solve."""

    hz: Floats
    off: Floats

    def __post_init__(self) -> None:
        freeze(self, hz=((None,), float), off=((len(self.hz),), float))


@dataclass(frozen=True, eq=False)
class LiveModel:
    """A plate ready to be thinned live; ``found`` is the reduced model."""

    found: ReducedModel

    def tones(self, *removals: Removal) -> LiveTones:
        """Return the tones after wood was taken from the inside; depths add up.

        Raises InputError if somewhere more than 60 % of the thickness is taken.
        """
        with threadpool_limits(1, user_api="blas"):
            taken = Together(removals).at(self.found.places)
            trial = self.found.untouched.with_removal(taken)
            return LiveTones(trial.hz, trial.doubt * trial.hz)


def live_model(plate: Plate) -> LiveModel:
    """Return the live model of a plate: some seconds to build, then hundredths of one for every question.

    Raises InputError if no sound mesh can be made.

    >>> from platewright import hollow, new_plate
    >>> live = live_model(new_plate("live-panel", like="panel"))
    >>> spot = hollow(180, 0, radius_mm=40, depth_mm=0.3)
    >>> bool(live.tones(spot).hz[0] < live.tones().hz[0])
    True
    """
    with threadpool_limits(1, user_api="blas"):
        bench = plan_bench(plate)
        model = assemble(plate, bench.mesh, bench.cubic)
        return LiveModel(reduced_model(model, modes_of(model, _KNOWN)))
