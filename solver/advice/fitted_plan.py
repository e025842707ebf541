"""A carving plan on fitted wood: its wishes are put to the tones that are expected, and what is planned has an interval."""

from dataclasses import replace

from solver.advice.carving_plan import CarvingPlan
from solver.advice.fitted_tones import FittedBelief, FittedTones
from solver.advice.plan_trials import PlanBench, PlanTrial
from solver.advice.tone_response import MeshedPlate


def fitted_bench(bench: PlanBench, before: PlanTrial, belief: FittedBelief) -> tuple[PlanBench, PlanTrial]:
    """Return the bench and the untouched plate with the factors from what the model makes to what is expected."""
    factors = _tones(bench, before, belief).factors
    return replace(bench, factors=factors), replace(before, factors=factors)


def with_bands(plan: CarvingPlan, bench: PlanBench, belief: FittedBelief) -> CarvingPlan:
    """Return the plan with the 95 % intervals of what it leads to."""
    return replace(plan, bands=_tones(bench, plan.after, belief).bands)


def _tones(bench: PlanBench, trial: PlanTrial, belief: FittedBelief) -> FittedTones:
    return belief.tones(MeshedPlate(bench.plate, bench.mesh, bench.cubic), trial.model, trial.modes)
