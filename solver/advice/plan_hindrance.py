"""Why a plan falls short, and what would have to give: limits moved and wishes dropped in its last program.

All answers are to first order about the nearest plan, and so tell the size of what would have to give, not its last tenth.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from solver.advice.carving_plan import MARGIN, CarvingPlan, PlannedFigure
from solver.advice.plan_program import PlanProgram, solve_program
from solver.core.arrays import Bools
from solver.core.units import MM

DEEPEST_SHARE = 0.6
"""Share of the thickness beyond which no cut is tried, whatever the limits."""

_STEP = 0.05 * MM
"""Steps [m] in which limits are moved."""


@dataclass(frozen=True)
class Hindrance:
    """What keeps a plan from its wishes.

    ``beyond`` are wishes that no removal meets, even alone and without limits; ``less_thickness`` [m] would have to be
    allowed everywhere below the minimum, or ``more_removal`` [m] above the greatest depth, if either alone is enough;
    ``both`` whether the two together are; ``dropped`` are wishes of which giving up one lets all others be met within the
    limits. ``unsettled``: to first order nothing stands in the way, but full solves did not get there.
    """

    beyond: tuple[str, ...]
    less_thickness: float | None
    more_removal: float | None
    both: bool
    dropped: tuple[str, ...]
    unsettled: bool = False


def find_hindrance(plan: CarvingPlan) -> Hindrance | None:
    """Return what keeps a plan from its wishes, None if they are met."""
    if plan.reached:
        return None
    if _meets(plan.program):
        return Hindrance((), None, None, False, (), unsettled=True)
    thickness = plan.before.plate.graduation.at(plan.points)
    spare = thickness - plan.limits.least.at(plan.points)
    deepest = DEEPEST_SHARE * thickness
    names = tuple(plan.wanted)
    free = plan.program.limited(deepest)
    lacking = [name for name, figure in _wished(plan).items() if not figure.holds]
    beyond = tuple(name for name in lacking if not _meets(free.wishing(_only(names, name))))

    def limited(least: float, depth: float) -> PlanProgram:
        room = np.minimum(np.minimum(spare + least, plan.limits.max_removal + depth), deepest)
        return plan.program.limited(np.maximum(room - MARGIN, 0.0))

    thinner = _least_step(lambda give: _meets(limited(give, 0.0)), float(thickness.max()))
    deeper = _least_step(lambda give: _meets(limited(0.0, give)), float(thickness.max()))
    others = [name for name in names if len(names) > 1 and _meets(plan.program.wishing(~_only(names, name)))]
    return Hindrance(beyond, thinner, deeper, _meets(free), tuple(others))


def _wished(plan: CarvingPlan) -> dict[str, PlannedFigure]:
    return {figure.name: figure for figure in plan.figures if figure.wanted is not None}


def _only(names: tuple[str, ...], name: str) -> Bools:
    return np.array([other == name for other in names])


def _meets(program: PlanProgram) -> bool:
    return solve_program(program).reached


def _least_step(enough: Callable[[float], bool], most: float) -> float | None:
    """Return the least multiple of the step [m] that is ``enough``, by halving; None if even the ``most`` is not."""
    low, high = 0, int(np.ceil(most / _STEP))
    if not enough(high * _STEP):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle * _STEP) else (middle, high)
    return high * _STEP
