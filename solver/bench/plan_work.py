"""A carving plan to be drawn into a trial, made in a process of its own."""

import json
from dataclasses import dataclass
from pathlib import Path

from solver.advice.plan_hindrance import find_hindrance
from solver.advice.plan_passes import plan_passes
from solver.bench.told import Answer
from solver.bench.work import Progress
from solver.commands.plan import plan_for
from solver.commands.plan_answer import plan_as_json
from solver.commands.plan_remarks import remarks
from solver.commands.plan_request import PlanRequest
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_folder
from solver.plate_folder.trial_schema import PlannedTable
from solver.plate_folder.trials import planned_table


@dataclass(frozen=True)
class PlanOutcome:
    """What ``platewright plan`` answers, and the removal as it stands in a trial's file."""

    answer: Answer
    table: PlannedTable


def plan_order(folder: Path, request: PlanRequest) -> str:
    """Return what is to be planned as it is handed to the process."""
    return json.dumps({"folder": str(folder), "request": request.__dict__})


def make_planned(progress: Progress, order_text: str) -> PlanOutcome:
    """Return a plan; raises InputError as ``platewright plan``."""
    order = json.loads(order_text)
    asked = order["request"]
    lists = {name: tuple(asked[name]) for name in ("wants", "keeps", "least")}
    request = PlanRequest(**{**asked, **lists})
    progress.say("Reading the plate", 0.0)
    read = read_folder(read_description(Path(order["folder"])))
    progress.say("Planning: the thinned plate is solved again and again", 0.15)
    bench, plan = plan_for(read, request)
    progress.say("Dividing the plan into passes", 0.75)
    passes, hindrance = plan_passes(bench, plan, request.pass_count), find_hindrance(plan)
    answer = plan_as_json(plan, passes, hindrance, tuple(remarks(plan, read)))
    return PlanOutcome(answer, planned_table(plan.removal))
