"""``platewright plan``: the least wood to take for wanted tones, within limits."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from solver.commands.headline import headline
from solver.commands.json_answer import print_json
from solver.commands.plan_limits import read_limits
from solver.commands.plan_request import PlanRequest, read_wishes, with_kept
from solver.plate_folder.description import read_description
from solver.viewer.page_files import picture_kind

if TYPE_CHECKING:
    from solver.advice.carving_plan import CarvingPlan
    from solver.advice.plan_trials import PlanBench
    from solver.plate_folder.read import PlateFolder


@dataclass(frozen=True)
class PlanOutput:
    """Where the maker wants the answer."""

    as_json: bool
    picture: Path | None


def run_plan(folder: Path, request: PlanRequest, output: PlanOutput, out: Console, busy: Console) -> None:
    """Print the plan as a table or as JSON, then draw it if asked for.

    Raises InputError if the folder or a wish cannot be understood, or if something cannot be written.
    """
    if output.picture is not None:
        picture_kind(output.picture)
    description = read_description(folder)
    read_wishes(request, description.table.wanted)
    if not output.as_json:
        out.print(headline(description.table))
    with busy.status("Reading the plate") as status:
        from solver.plate_folder.read import read_folder

        read = read_folder(description)
        status.update("Planning")
        bench, plan = plan_for(read, request)
        from solver.advice.plan_hindrance import find_hindrance
        from solver.advice.plan_passes import plan_passes
        from solver.commands.plan_answer import plan_as_json, plan_as_table
        from solver.commands.plan_remarks import remarks

        passes, hindrance = plan_passes(bench, plan, request.pass_count), find_hindrance(plan)
        said = tuple(remarks(plan, read))
    if output.as_json:
        print_json(plan_as_json(plan, passes, hindrance, said), out)
    else:
        out.print(plan_as_table(plan, passes, hindrance, said))
    if output.picture is not None:
        with busy.status("Drawing"):
            from solver.viewer.plan_picture import draw_plan

            draw_plan(plan, output.picture)
        busy.print(f"Drawn in {output.picture}", markup=False)


def plan_for(read: "PlateFolder", request: PlanRequest) -> "tuple[PlanBench, CarvingPlan]":
    """Return the plan for a plate and the bench on which it was solved; raises InputError as `run_plan`."""
    table, plate = read.description.table, read.plate
    wishes = read_wishes(request, table.wanted)
    limits = read_limits(request, table.wanted, plate)
    from solver.advice.carving_plan import make_plan
    from solver.advice.fitted_plan import fitted_bench, with_bands
    from solver.advice.plan_trials import plan_bench
    from solver.advice.wished_tones import heard_elsewhere, own_key, partners, wishes_for, with_keys
    from solver.commands.belief import belief_of
    from solver.commands.plan_remarks import heard_of

    belief = belief_of(read, plate)
    bench = plan_bench(plate)
    before = bench.untouched()
    if belief is not None:
        bench, before = fitted_bench(bench, before, belief)
    wishes = {own_key(before, key): value for key, value in wishes.items()}
    elsewhere = heard_elsewhere(before, wishes, heard_of(read.description))
    before = with_keys(before, (*wishes, *partners(before), *(one.key for one in elsewhere)))
    wanted = with_kept(wishes_for(wishes, elsewhere), request.keeps, before)
    plan = make_plan(bench, before, wanted, limits, request.symmetric)
    return bench, plan if belief is None else with_bands(plan, bench, belief)
