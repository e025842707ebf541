"""How a pair comes into the wanted relation: by thinning the top, or by thinning the back."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from solver.advice.carving_plan import CarvingPlan, PlanLimits, make_plan
from solver.advice.fitted_plan import fitted_bench
from solver.advice.plan_hindrance import Hindrance, find_hindrance
from solver.advice.plan_trials import PlanBench, PlanTrial, plan_bench
from solver.advice.plate_pair import PlatePair, Relation
from solver.modal.pitch import cents_between

Side = Literal["top", "back"]
SIDES: tuple[Side, Side] = ("top", "back")


@dataclass(frozen=True, eq=False)
class PairWay:
    """The plan by which one plate alone would bring the pair into its relations.

    ``intervals`` are the cents between like modes once it is carved; ``broken`` the relations that still do not hold then.
    """

    side: Side
    plan: CarvingPlan
    intervals: Mapping[str, float]
    broken: tuple[Relation, ...]
    hindrance: Hindrance | None

    @property
    def reached(self) -> bool:
        """Tell whether every relation holds once the plan is carved."""
        return not self.broken

    @property
    def removed(self) -> float:
        """The wood [kg] that it takes."""
        return self.plan.before.modes.mass - self.plan.after.modes.mass


def way_by(side: Side, pair: PlatePair, limits: PlanLimits) -> PairWay:
    """Return the way on which one plate is thinned within its limits and the other stays.

    The plan begins with the relations that do not hold. One that held and is broken by the carving joins them, until all
    hold or none is new: so no wood is spent on keeping what keeps itself. Wishes are put as the model's own tones moved by
    the cents that lack, because the change by a carving is surer than the tone itself.
    """
    member = pair.top if side == "top" else pair.back
    bench = plan_bench(member.response.plate)
    before = bench.untouched()
    if member.belief is not None:
        bench, before = fitted_bench(bench, before, member.belief)
    active = [relation for relation in pair.relations if not pair.holds(relation)]
    while True:
        way = _way(side, pair, bench, before, active, limits)
        new = [relation for relation in way.broken if relation not in active]
        if not new:
            return way
        active += new


def _way(
    side: Side,
    pair: PlatePair,
    bench: PlanBench,
    before: PlanTrial,
    active: list[Relation],
    limits: PlanLimits,
) -> PairWay:
    upward = 1 if side == "back" else -1
    wanted = {}
    for relation in active:
        cents = pair.tone(relation).cents
        lacking = upward * (relation.aim(cents) - cents)
        wanted[relation.mode] = before.figure(relation.mode) * 2 ** (lacking / 1200)
    plan = make_plan(bench, before, wanted, limits)
    moved = {
        paired.mode: upward * cents_between(before.figure(paired.mode), plan.after.figure(paired.mode))
        for paired in pair.modes
    }
    intervals = {paired.mode: paired.taken.cents + moved[paired.mode] for paired in pair.modes}
    broken = tuple(relation for relation in pair.relations if not relation.holds(intervals[relation.mode]))
    return PairWay(side, plan, intervals, broken, find_hindrance(plan))
