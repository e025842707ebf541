"""The first pass of a carving plan, for the sheet."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING

from solver.commands.plan_request import PlanRequest

if TYPE_CHECKING:
    from solver.advice.carving_plan import CarvingPlan
    from solver.advice.plan_passes import PlanPass
    from solver.advice.plan_trials import PlanBench, PlanTrial
    from solver.modal.modes import Modes
    from solver.plate_folder.read import PlateFolder
    from solver.viewer.sheet.content import Predicted, Removal, SheetContent


def planned_content(read: "PlateFolder", request: PlanRequest, marked: Sequence[str]) -> "SheetContent":
    """Return what stands on a sheet with the first pass of a plan: wood to take, figures wanted and predicted, limits.

    Raises InputError as `plan_for` does, or if a mode to be ``marked`` is not found.
    """
    from solver.advice.fitted_tones import MASS
    from solver.commands.plan import plan_for
    from solver.commands.plan_remarks import remarks
    from solver.viewer.sheet.content import SheetContent

    bench, plan = plan_for(read, request)
    modes, description = plan.before.expected, read.description
    return SheetContent(
        folder_name=description.folder.resolve().name,
        made=date.today(),
        plate=read.plate,
        modes=modes,
        shown=_shown(modes, marked, [name for name in plan.wanted if name != MASS]),
        wanted_hz={name: value for name, value in plan.wanted.items() if name != MASS},
        least=plan.limits.least.at,
        log=tuple(description.log.values()),
        removal=_removal(bench, plan, request.pass_count, tuple(remarks(plan, read))),
        wanted_mass=plan.wanted.get(MASS),
    )


def _shown(modes: "Modes", marked: Sequence[str], wished: Sequence[str]) -> tuple[int, ...]:
    """Return the places of the modes to be marked, and without any named those of the usual and the wished ones."""
    from solver.commands.sheet_content import shown
    from solver.viewer.sheet.content import USUAL_TONES

    usual = [name for name in USUAL_TONES if name in modes.names]
    return shown(modes, marked or list(dict.fromkeys([*usual, *wished])))


def _removal(bench: "PlanBench", plan: "CarvingPlan", count: int, remarks: tuple[str, ...]) -> "Removal":
    from solver.advice.plan_hindrance import find_hindrance
    from solver.advice.plan_passes import plan_passes
    from solver.advice.zones import ZonedThickness
    from solver.commands.plan_answer import guess_warning, verdict
    from solver.viewer.sheet.content import Removal

    passes = plan_passes(bench, plan, count)
    share, after = (passes[0].share, passes[0].trial) if passes else (0.0, plan.after)
    least = plan.limits.least
    zones = [f"Least thickness: {least}."] if isinstance(least, ZonedThickness) else []
    said = [verdict(plan, find_hindrance(plan)), *remarks, *_passes(passes), *zones, *guess_warning(plan)]
    return Removal(plan.removal.scaled(share).at, _predicted(after), _predicted(plan.after), tuple(said))


def _passes(passes: Sequence["PlanPass"]) -> Iterator[str]:
    """Say which part of the plan the sheet shows."""
    if passes:
        yield (
            f"This is pass 1 of {len(passes)}, {100 * passes[0].share:.0f} % of every depth. Then weigh, tap, log and plan "
            "again: what comes next is not on this sheet."
        )


def _predicted(trial: "PlanTrial") -> "Predicted":
    from solver.advice.fitted_tones import MASS
    from solver.viewer.sheet.content import Predicted

    names = [name for name in trial.modes.names if name]
    return Predicted({name: trial.figure(name) for name in names}, trial.figure(MASS))
