"""One making from the first tap to the last: write down, fit, plan, carve half of it, and again."""

import re
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import timedelta
from pathlib import Path

import numpy as np

from meshes.removal import SmoothRemoval
from meshes.smooth_map import DEGREE, SmoothMap
from solver.advice.carving_plan import CarvingPlan
from solver.advice.fitted_plan import with_bands
from solver.advice.plan_trials import PlanBench
from solver.commands.belief import belief_of
from solver.core.units import MM
from solver.plate.climate import Climate
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_folder
from tests.trials.asked import Answer, PlanAnswer, ask, ask_plan
from tests.trials.making_records import CLAIMED_PCT, WISHED, Forecast, Making, Said
from tests.trials.plausible_plates import PlausiblePlate, SmoothField, plausible_plate, smooth_field
from tests.trials.reachable_wishes import Wished, wishes_for
from tests.trials.seen_numbers import NUMBERS, Patterns, Seen, patterns_of, seen_numbers
from tests.trials.simulated_maker import START, Maker, TruePlate, a_day, thickness_file, true_plate

MOST_PASSES = 6
CARVED_OFF, CARVED_REACH_MM = 0.15, 60.0
"""Error of a depth that is carved, as a share of it, and how far it reaches on a violin."""
ABOVE_ALL = "lies above all tones"
"""Said of a high tone that the fit does not look at: no doubt of the maker's ear."""
TOLD_ONLY = ("close", "shared", "several woods")
"""Kinds of what the fit says that doubt no figure of the maker's."""
NOTHING = re.compile("Nothing to take|No wood to take")


@dataclass
class _Course:
    """A making under way: the plate as it is, what its maker numbers, and what was said and foretold so far.

    ``keys`` are those of the tones for which the last plan took the wishes, where it took another than bears the number.
    """

    plausible: PlausiblePlate
    patterns: Patterns
    truth: TruePlate
    seen: Seen
    wished: Wished
    maker: Maker
    stage: int = 0
    refusals: list[Said] = field(default_factory=list)
    wrong: list[Said] = field(default_factory=list)
    doubted: dict[tuple[str, str, str], Said] = field(default_factory=dict)
    forecasts: list[Forecast] = field(default_factory=list)
    moved: list[str] = field(default_factory=list)
    keys: dict[str, str] = field(default_factory=dict)

    def off_pct(self, seen: Seen) -> Mapping[str, float]:
        """Return how far [%] the true tones are from the wishes, in the room where the wishes hold."""
        return {number: 100 * (seen.hz(number) / self.wished.hz[number] - 1) for number in WISHED}

    def worst(self, seen: Seen) -> float:
        """Return the greater of the two, with its sign."""
        return max(self.off_pct(seen).values(), key=abs)

    def refused(self, command: str, answer: Answer) -> None:
        """Keep the sentence of a refusal."""
        self.refusals.append(Said(command, self.stage, answer.refusal))

    def become(self, truth: TruePlate) -> None:
        """Go on with the plate as it is now."""
        self.truth, self.seen = truth, seen_numbers(self.patterns, truth.modes(), self.seen)
        self.moved += self.seen.moved

    def foretold(self, by: str, bands: Mapping[str, tuple[float, float]], seen: Seen) -> None:
        """Keep the intervals of modes 1, 2 and 5, by the keys of their tones, beside what the plate truly does."""
        for number in NUMBERS:
            key = self.keys.get(number, number)
            if key in bands:
                self.forecasts.append(Forecast(by, self.stage, number, *bands[key], seen.hz(number)))


def make(kind: str, seed: int, number: int, folder: Path, passes: int = MOST_PASSES) -> Making:
    """Follow the program from a first plate to its wishes, ``folder`` being where the plate is written down."""
    began = time.process_time()
    plausible = plausible_plate(kind, seed, number)
    truth, patterns = true_plate(plausible), patterns_of(plausible.plate)
    seen = seen_numbers(patterns, truth.modes())
    wished = wishes_for(plausible, truth, patterns, seen)
    course = _Course(plausible, patterns, truth, seen, wished, Maker(folder, plausible, wished.least_mm))
    begin_pct = course.off_pct(seen)
    ended = _follow(course, passes)
    return Making(
        kind,
        number,
        ended,
        course.stage,
        begin_pct,
        course.off_pct(course.seen),
        (course.seen.shares["5"], course.seen.next_best["5"]),
        time.process_time() - began,
        tuple(course.refusals),
        tuple(course.wrong),
        tuple(course.doubted.values()),
        tuple(course.moved),
        tuple(course.forecasts),
    )


def _follow(course: _Course, passes: int) -> str:
    """Go round until the program says that nothing is left to take, refuses, or the passes are used up."""
    while True:
        _write_down(course)
        _fit(course)
        planned = ask_plan(course.maker.folder)
        if planned.plan is None or planned.bench is None or planned.answer.code:
            course.refused("plan", planned.answer)
            return "refused"
        _check_claims(course, planned, planned.plan)
        if planned.plan.removal.is_empty:
            nothing = ("Nothing to take", "No wood to take")
            return "nothing left" if any(said in planned.words for said in nothing) else "stuck"
        if course.stage == passes:
            return "passes used"
        _carve(course, planned, planned.plan, planned.bench)


def _write_down(course: _Course) -> None:
    """Measure thickness, weigh, tap and note it, in the room of the day."""
    maker, stage, noise = course.maker, course.stage, course.plausible.noise
    room = a_day(noise)
    mass_g = maker.weigh(course.truth, room)
    if stage == 0:
        maker.begin(course.truth, course.wished.hz, mass_g)
    else:
        maker.measure_thickness(course.truth, stage)
        maker.note_mass(mass_g)
        _foretell_by_table(course)
    numbered, beside = maker.tap(seen_numbers(course.patterns, course.truth.modes(room), course.seen))
    entry = [*_log_options(stage, room, mass_g, numbered, beside)]
    entry += ["--thickness", str(maker.folder / thickness_file(stage))]
    answer = ask("log", maker.folder, *entry)
    if answer.code:
        course.doubted["log", str(stage), ""] = Said("log", stage, answer.refusal)
        answer = ask("log", maker.folder, *entry, "--as-typed")
        assert answer.code == 0, answer.refusal


def _log_options(
    stage: int, room: Climate, mass_g: float, numbered: Mapping[str, float], beside: tuple[float, ...]
) -> Iterator[str]:
    yield from ("--taken", f"{START + timedelta(days=3 * stage):%Y-%m-%dT%H:%M}", "--mass", f"{mass_g}")
    yield from ("--temperature", f"{room.temperature_c}", "--humidity", f"{room.humidity_pct}")
    for number, hz in numbered.items():
        yield from ("--mode", f"{number}={hz}")
    for hz in beside:
        yield from ("--tone", f"{hz}")


def _foretell_by_table(course: _Course) -> None:
    """Keep what `modes` says of the plate gone over with the caliper again, before it is tapped."""
    answer = ask("modes", course.maker.folder, "--json")
    if answer.code:
        course.refused("modes", answer)
        return
    rows = [mode for mode in answer.table["modes"] if mode.get("low_hz") is not None]
    course.foretold("modes", {mode["mode"]: (mode["low_hz"], mode["high_hz"]) for mode in rows}, course.seen)


def _fit(course: _Course) -> None:
    """Fit the wood to the log, and keep every honest figure that is doubted."""
    answer = ask("fit", course.maker.folder, "--write", "--json")
    if answer.code:
        course.refused("fit", answer)
        return
    for doubt in answer.table["doubts"]:
        key = (doubt["entry"], doubt["kind"], f"{doubt['mode']} {doubt['hz']}")
        unnumbered = doubt["kind"] == "unsure" and doubt["mode"] is None
        if doubt["kind"] in TOLD_ONLY or unnumbered or ABOVE_ALL in doubt["in_words"]:
            continue
        course.doubted.setdefault(key, Said(doubt["kind"], course.stage, doubt["in_words"]))


def _check_claims(course: _Course, planned: PlanAnswer, plan: CarvingPlan) -> None:
    """Hold what the plan says against the truth: that wishes hold, that they are met once all of it is carved."""
    course.keys = {
        number: key
        for number, hz in course.wished.hz.items()
        for key, wanted in plan.wanted.items()
        if wanted == hz and number not in plan.wanted
    }
    if "every wish already holds" in planned.words:
        off = course.worst(course.seen)
        if abs(off) > CLAIMED_PCT:
            course.wrong.append(Said("nothing to take", course.stage, "every wish already holds", off))
    after = course.seen
    if not plan.removal.is_empty:
        after = seen_numbers(course.patterns, course.truth.after(plan.removal).modes(), course.seen)
    course.foretold("planned", plan.bands, after)
    if "Every wish is met" in planned.words and abs(course.worst(after)) > CLAIMED_PCT:
        course.wrong.append(Said("met", course.stage, "Every wish is met", course.worst(after)))


def _carve(course: _Course, planned: PlanAnswer, plan: CarvingPlan, bench: PlanBench) -> None:
    """Carve the first pass, as well as a hand can; keep what the plan's model foretells of just that wood."""
    share = planned.answer.table["passes"][0]["share_pct"] / 100
    scale = course.plausible.scale
    hand = smooth_field(course.plausible.noise, CARVED_REACH_MM * scale * MM)
    carved = _by_hand(plan.removal.scaled(share), hand)
    bands = _bands_of(course.maker.folder, plan, bench, carved)
    course.stage += 1
    course.become(course.truth.after(carved))
    course.foretold("carved", bands, course.seen)


def _by_hand(removal: SmoothRemoval, hand: SmoothField) -> SmoothRemoval:
    """Return what comes of a removal that is carved: a smooth share too much here and too little there."""
    depth = removal.depth
    x, y = (
        np.stack([knots[k : len(knots) - DEGREE - 1 + k] for k in range(1, DEGREE + 1)]).mean(axis=0)
        for knots in (depth.x_knots, depth.y_knots)
    )
    places = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    share = 1 + CARVED_OFF * np.clip(hand.at(places), -3, 3).reshape(depth.coefficients.shape)
    return SmoothRemoval(SmoothMap(depth.x_knots, depth.y_knots, share * depth.coefficients))


def _bands_of(
    folder: Path, plan: CarvingPlan, bench: PlanBench, carved: SmoothRemoval
) -> Mapping[str, tuple[float, float]]:
    """Return the 95 % intervals [Hz] that the plan's own model has for another removal; none where nothing was fitted."""
    read = read_folder(read_description(folder))
    belief = belief_of(read, read.plate)
    if belief is None:
        return {}
    return with_bands(replace(plan, after=bench.after(carved, plan.before)), bench, belief).bands
