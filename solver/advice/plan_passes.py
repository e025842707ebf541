"""A plan in passes, the first of which takes at most half of the way: wood cannot be put back."""

from collections.abc import Mapping
from dataclasses import dataclass

from solver.advice.carving_plan import CarvingPlan
from solver.advice.plan_trials import PlanBench, PlanTrial

FIRST = 0.5
"""Share of the predicted change that the first pass brings at most."""

PLAIN = 1e-3
"""Share of a figure; a change smaller than this is not what sets the first pass."""

_SAFE = 0.99


@dataclass(frozen=True, eq=False)
class PlanPass:
    """The plate after a pass: ``share`` of the plan's depth is taken everywhere by then; ``trial`` is its full solution."""

    share: float
    trial: PlanTrial

    def figures(self, names: tuple[str, ...]) -> Mapping[str, float]:
        """Return frequencies [Hz] and the mass [kg] by their names."""
        return {name: self.trial.figure(name) for name in names}


def plan_passes(bench: PlanBench, plan: CarvingPlan, count: int = 2) -> tuple[PlanPass, ...]:
    """Return the passes of a plan, none if nothing is to be taken; depths grow evenly after the first.

    The first changes no wished figure by more than half of what the whole plan does.
    """
    if plan.removal.is_empty:
        return ()
    first = _first_pass(bench, plan, 1 / count)
    shares = [first.share + (1 - first.share) * k / (count - 1) for k in range(1, count - 1)]
    between = [_taken(bench, plan, share) for share in shares]
    return (first, *between, PlanPass(1.0, plan.after))


def _first_pass(bench: PlanBench, plan: CarvingPlan, share: float) -> PlanPass:
    """Return the first pass with the ``share`` wished for, or as much less as keeps it within half of the change."""
    while True:
        found = _taken(bench, plan, share)
        most = max((_way(plan, found, name) for name in _moved(plan)), default=0.0)
        if most <= FIRST:
            return found
        share *= _SAFE * FIRST / most


def _taken(bench: PlanBench, plan: CarvingPlan, share: float) -> PlanPass:
    return PlanPass(share, bench.after(plan.removal.scaled(share), plan.before))


def _way(plan: CarvingPlan, found: PlanPass, name: str) -> float:
    """Return which share of its predicted change a figure has made."""
    start = plan.before.figure(name)
    return (found.trial.figure(name) - start) / (plan.after.figure(name) - start)


def _moved(plan: CarvingPlan) -> list[str]:
    """Return the wished figures that the plan plainly changes."""
    return [
        name for name in plan.wanted if abs(plan.after.figure(name) / plan.before.figure(name) - 1) > PLAIN
    ]
