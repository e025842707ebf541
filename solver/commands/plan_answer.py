"""The answer of ``platewright plan``, as a table to read and as an object for other programs."""

from collections.abc import Iterator, Sequence

import numpy as np
from rich.console import Group
from rich.table import Table
from rich.text import Text

from solver.advice.carving_plan import TOLERANCE, CarvingPlan, PlannedFigure
from solver.advice.fitted_tones import MASS
from solver.advice.plan_hindrance import Hindrance
from solver.advice.plan_passes import PlanPass
from solver.advice.removal_basis import plane_length
from solver.commands.plan_remarks import how_sure, is_borne_out
from solver.commands.tones import Json
from solver.core.arrays import Floats
from solver.core.units import GRAM, MM
from solver.modal.labels import SharedPattern
from solver.plate.mode_label import key_called
from solver.viewer.plan_picture import figure_words

_LEAST_GUESS = 0.02
"""Share of the planned wood; where less of it is a guess nothing is said."""

CAUTION = (
    "A plan is a prediction from the wood's constants and your readings, and wood cannot be put back: check the "
    "thickness with the caliper before you cut, and measure between passes."
)


def plan_as_json(
    plan: CarvingPlan, passes: Sequence[PlanPass], hindrance: Hindrance | None, remarks: Sequence[str] = ()
) -> dict[str, Json]:
    """Return the object that ``--json`` prints: frequencies in Hz, lengths in mm, mass in g."""
    figures = {figure.name: figure for figure in plan.figures}
    tones = [figure for name, figure in figures.items() if name != MASS]
    return {
        "title": plan.before.plate.title,
        "role": plan.before.plate.role,
        "reached": plan.reached,
        "tolerance_pct": 100 * TOLERANCE,
        "sure": is_borne_out(plan),
        "modes": [{"mode": _tone(figure.name), **_figure(figure, "hz", 1.0)} for figure in tones],
        "mass": _figure(figures[MASS], "g", GRAM),
        "removed_g": round((plan.before.modes.mass - plan.after.modes.mass) / GRAM, 3),
        "max_removal_mm": round(float(plan.removed.max()) / MM, 3),
        "max_removal_at_mm": _place(plan, plan.removed),
        "min_thickness_mm": round(float(plan.left.min()) / MM, 3),
        "min_thickness_at_mm": _place(plan, -plan.left),
        "symmetric": plan.symmetric,
        "smooth_mm": round(plane_length(plan.before.plate.outline) / MM, 1),
        "guess_pct": round(100 * plan.guessed, 1),
        "passes": [_pass(plan, stage) for stage in passes],
        "limits": [{"limit": limit, "area_pct": round(100 * share, 2)} for limit, share in plan.held.items()],
        "hindrance": None if hindrance is None else _hindrance(hindrance),
        "mixed": [_mixed(pattern) for pattern in plan.before.modes.mixed],
        "remarks": [*remarks],
    }


def _tone(key: str) -> str:
    """Return the trade's number of a tone, or its place by pitch in words."""
    return key_called(key) if key.startswith("#") else key


def _mixed(pattern: SharedPattern) -> dict[str, Json]:
    return {
        "mode": pattern.name,
        "orders": [place + 1 for place in pattern.places],
        "shares": [round(share, 3) for share in pattern.shares],
    }


def _figure(figure: PlannedFigure, unit: str, per: float) -> dict[str, Json]:
    values = {
        "now": figure.now,
        "wanted": figure.wanted,
        "planned": figure.planned,
        "planned_low": figure.low,
        "planned_high": figure.high,
    }
    return {
        f"{word}_{unit}": None if value is None else round(value / per, 3) for word, value in values.items()
    }


def _place(plan: CarvingPlan, values: Floats) -> list[Json]:
    """Return where [mm] values at the plan's points are greatest."""
    return [float(round(value / MM)) for value in plan.points[np.argmax(values)]]


def _pass(plan: CarvingPlan, stage: PlanPass) -> dict[str, Json]:
    names = [figure.name for figure in plan.figures if figure.name != MASS]
    return {
        "share_pct": round(100 * stage.share, 1),
        "modes": [{"mode": _tone(name), "hz": round(stage.trial.figure(name), 3)} for name in names],
        "mass_g": round(stage.trial.modes.mass / GRAM, 3),
    }


def _hindrance(hindrance: Hindrance) -> dict[str, Json]:
    return {
        "beyond_removal": [*hindrance.beyond],
        "less_thickness_mm": _in_mm(hindrance.less_thickness),
        "more_removal_mm": _in_mm(hindrance.more_removal),
        "both_limits": hindrance.both,
        "drop_one_of": [*hindrance.dropped],
        "unsettled": hindrance.unsettled,
    }


def _in_mm(value: float | None) -> float | None:
    return None if value is None else round(value / MM, 2)


def plan_as_table(
    plan: CarvingPlan, passes: Sequence[PlanPass], hindrance: Hindrance | None, remarks: Sequence[str] = ()
) -> Group:
    """Return the table of tones and mass, and under it what to take, in which passes, and what to beware of."""
    table = Table()
    first = passes[0] if passes else None
    heads = ["Now", "Wanted", *(["After pass 1"] if first else []), "Planned"]
    heads += [*(["95 %"] if plan.bands else []), "Change"]
    table.add_column("")
    for head in heads:
        table.add_column(head, justify="right", no_wrap=head == "95 %")
    for figure in plan.figures:
        table.add_row(
            *_cells(figure, first, bool(plan.bands)), style="bold" if figure.wanted is not None else ""
        )
    said = [verdict(plan, hindrance), *remarks, *_carving(plan), *_passes(plan, passes)]
    return Group(table, *(Text(line) for line in said))


def _cells(figure: PlannedFigure, first: PlanPass | None, fitted: bool) -> Iterator[str]:
    name, unit, per = figure_words(figure.name)
    yield f"{name.capitalize()}, {unit}"
    yield f"{figure.now / per:.1f}"
    yield "" if figure.wanted is None else f"{figure.wanted / per:.1f}"
    if first:
        yield f"{first.trial.figure(figure.name) / per:.1f}"
    yield f"{figure.planned / per:.1f}{'' if figure.holds else ' !'}"
    if fitted:
        ends = None if figure.low is None or figure.high is None else (figure.low / per, figure.high / per)
        yield "-" if ends is None else f"{ends[0]:.1f} to {ends[1]:.1f}"
    yield f"{100 * (figure.planned / figure.now - 1):+.1f} %"


def verdict(plan: CarvingPlan, hindrance: Hindrance | None) -> str:
    """Say whether the wishes are met, and if not why not and what would have to give."""
    if hindrance is None:
        return _reached(plan)
    short = [
        f"{name} comes to {figure.planned / per:.1f} {unit} in place of {figure.wanted / per:.1f}"
        for figure in plan.figures
        if figure.wanted is not None and not figure.holds
        for name, unit, per in [figure_words(figure.name)]
    ]
    return " ".join([f"Not reached: at the nearest, {'; '.join(short)}.", *_reasons(plan, hindrance)])


def _reached(plan: CarvingPlan) -> str:
    """Say that the wishes are met, if that is as sure as the tolerance, and else how sure it is."""
    within, sure = f"within {100 * TOLERANCE:g} %", is_borne_out(plan)
    if plan.removal.is_empty:
        if sure:
            return f"Nothing to take: every wish already holds {within}."
        return f"No wood to take as far as is known: the expected tones are {within} of every wish. {how_sure(plan)}"
    if sure:
        return f"Every wish is met {within}, by a full solve of the thinned plate."
    return f"The plan brings the expected tones {within} of every wish, by a full solve. {how_sure(plan)}"


def _reasons(plan: CarvingPlan, hindrance: Hindrance) -> Iterator[str]:
    """Say which limit stops the plan, and what would have to give."""
    if hindrance.unsettled:
        yield (
            "To first order nothing stands in the way, but tones trade their shapes on it: take the first pass, measure, "
            "and plan again."
        )
    for name in hindrance.beyond:
        words, rises = figure_words(name)[0], plan.wanted[name] > plan.before.figure(name)
        yield f"Taking wood alone does not {'raise' if rises else 'lower'} {words} that far, whatever the limits."
    gives = []
    if hindrance.less_thickness is not None:
        gives.append(f"a least thickness {hindrance.less_thickness / MM:.2f} mm less than now set")
    if hindrance.more_removal is not None:
        gives.append(f"a deepest cut of {(plan.limits.max_removal + hindrance.more_removal) / MM:.2f} mm")
    if not gives and hindrance.both:
        gives.append("a lesser least thickness and a deeper cut together")
    if gives:
        yield f"The limits stop it; enough would be, to first order, {' or '.join(gives)}."
    if hindrance.dropped:
        dropped = " or ".join(figure_words(name)[0] for name in hindrance.dropped)
        yield f"The wishes pull against one another: without {dropped} the others are met within the limits."
    elif not (gives or hindrance.beyond or hindrance.unsettled):
        yield "The wishes pull against one another, whatever the limits."


def _carving(plan: CarvingPlan) -> Iterator[str]:
    """Say how much goes where, what is left, and what held the plan back."""
    limits = plan.limits
    if not plan.removal.is_empty:
        grams = (plan.before.modes.mass - plan.after.modes.mass) / GRAM
        smooth = plane_length(plan.before.plate.outline) / MM
        bar = "; nothing under the bar" if plan.before.plate.bar else ""
        sides = "; the same on both sides (--asymmetric: not)" if plan.symmetric else ""
        yield (
            f"Take {grams:.1f} g from the inside, at most {plan.removed.max() / MM:.2f} mm ({_at(plan, plan.removed)}), "
            f"with no detail finer than {smooth:.0f} mm{sides}{bar}."
        )
    yield f"Thinnest then: {plan.left.min() / MM:.2f} mm ({_at(plan, -plan.left)})."
    names = {
        "min_thickness": "the least thickness",
        "max_removal": f"the deepest cut of {limits.max_removal / MM:g} mm",
    }
    if plan.held:
        held = " and ".join(f"{names[limit]} on {_percent(share)}" for limit, share in plan.held.items())
        yield f"Held back by {held} of the plate."
    yield from guess_warning(plan)


def guess_warning(plan: CarvingPlan) -> Iterator[str]:
    """Say how much of the wood lies where the thickness is a guess, if that is worth saying."""
    if plan.guessed > _LEAST_GUESS:
        yield (
            f"{_percent(plan.guessed)} of that wood is where the thickness is a guess, because no reading lies near: "
            "measure there first."
        )


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= 0.01 else "less than 1 %"


def _at(plan: CarvingPlan, values: Floats) -> str:
    x, y = plan.points[np.argmax(values)] / MM
    return f"at x {x:.0f}, y {y:.0f} mm"


def _passes(plan: CarvingPlan, passes: Sequence[PlanPass]) -> Iterator[str]:
    for number, stage in enumerate(passes, 1):
        tones = ", ".join(
            f"{name} {stage.trial.figure(wish) / per:.1f} {unit}"
            for wish in plan.wanted
            for name, unit, per in [figure_words(wish)]
        )
        then = "then weigh, tap, log, fit, plan again" if number < len(passes) else "if the plan still stands"
        yield f"Pass {number}: to {100 * stage.share:.0f} % of every depth ({tones}); {then}."
    if passes:
        yield CAUTION
