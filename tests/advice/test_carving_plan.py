"""Plans on stock plates: reached by a full solve, within their limits, and honest where they cannot be."""

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import csr_array, eye_array

from meshes.graduation import uniform_graduation
from meshes.removal import Hollow, thinned_graduation
from solver.advice.carving_plan import TOLERANCE, CarvingPlan, PlanLimits, make_plan
from solver.advice.plan_hindrance import find_hindrance
from solver.advice.plan_passes import plan_passes
from solver.advice.plan_program import PlanProgram, Wishes, nothing_taken, solve_program
from solver.advice.plan_trials import PlanBench, PlanTrial, plan_bench
from solver.modal.modes import solve_modes
from solver.plate_folder.read import read_plate
from solver.stock import write_stock_plate


@dataclass(frozen=True, eq=False)
class Started:
    bench: PlanBench
    before: PlanTrial


@cache
def started(like: str) -> Started:
    with TemporaryDirectory() as folder:
        write_stock_plate(Path(folder) / "plate", like)
        bench = plan_bench(read_plate(Path(folder) / "plate"), 0.03)
    return Started(bench, bench.untouched())


def limits(least_mm: float, deepest_mm: float = 0.6) -> PlanLimits:
    return PlanLimits(uniform_graduation(least_mm * 1e-3), deepest_mm * 1e-3)


def planned(like: str, shares: dict[str, float], within: PlanLimits, symmetric: bool = False) -> CarvingPlan:
    """A plan for figures that are these shares of what they are now."""
    plate = started(like)
    wanted = {name: share * plate.before.figure(name) for name, share in shares.items()}
    return make_plan(plate.bench, plate.before, wanted, within, symmetric)


USUALLY = [
    ("violin-top", {"5": 0.98, "2": 0.985}, 2.0),
    ("violin-top", {"mass": 0.97, "5": 0.985}, 2.0),
    ("violin-back", {"5": 0.97}, 2.0),
]
SELDOM = [
    ("violin-top", {"5": 0.97}, 2.0),
    ("violin-top", {"1": 0.98}, 2.0),
    ("violin-back", {"2": 0.96}, 2.0),
    ("violin-back", {"2": 0.97, "5": 0.98}, 2.0),
    ("viola-top", {"5": 0.97}, 2.2),
    ("viola-top", {"2": 0.98, "5": 0.98}, 2.2),
    ("viola-top", {"mass": 0.96}, 2.2),
]
REACHABLE = [*USUALLY, *(pytest.param(*target, marks=pytest.mark.slow) for target in SELDOM)]


@pytest.mark.parametrize(("like", "shares", "least_mm"), REACHABLE)
def test_ten_targets_on_three_plates_are_reached_within_limits(
    like: str, shares: dict[str, float], least_mm: float
) -> None:
    """The end is checked by a solve of its own, on a mesh of its own size, of the plate as it will be."""
    plan = planned(like, shares, limits(least_mm))
    assert plan.reached
    assert find_hindrance(plan) is None
    assert plan.removed.min() >= 0
    assert plan.removed.max() <= 0.6e-3
    assert plan.left.min() >= least_mm * 1e-3 or (plan.removed[plan.left < least_mm * 1e-3] == 0).all()
    plate = plan.before.plate
    thinned = replace(plate, graduation=thinned_graduation(plate.graduation, plan.taken))
    modes = solve_modes(thinned, 8, 0.03)
    for name, wanted in plan.wanted.items():
        found = modes.mass if name == "mass" else modes.hz[modes.names.index(name)]
        assert found == pytest.approx(wanted, rel=TOLERANCE * 1.2)


@pytest.mark.parametrize(
    ("like", "shares", "within"),
    [
        ("violin-top", {"5": 0.80}, limits(2.3)),  # the least thickness is in the way
        ("violin-back", {"2": 0.80}, limits(1.0, 0.1)),  # the greatest depth is
        # taking wood raises no mode by a tenth
        pytest.param("violin-top", {"5": 1.10}, limits(1.0), marks=pytest.mark.slow),
    ],
)
def test_what_cannot_be_reached_is_said_with_its_reason(
    like: str, shares: dict[str, float], within: PlanLimits
) -> None:
    plan = planned(like, shares, within)
    reason = find_hindrance(plan)
    assert not plan.reached
    assert reason is not None
    assert not reason.unsettled
    assert plan.removed.min() >= 0
    assert (plan.left >= within.least.at(plan.points))[plan.removed > 0].all()
    assert plan.removed.max() <= within.max_removal


def test_a_wish_that_already_holds_gets_an_empty_plan() -> None:
    plan = planned("violin-top", {"5": 1.0, "2": 1.001}, limits(2.0))
    assert plan.reached
    assert plan.removal.is_empty
    assert plan_passes(started("violin-top").bench, plan) == ()


@pytest.mark.parametrize("asked", [True, False])
def test_a_symmetric_plate_gets_a_symmetric_plan(asked: bool) -> None:
    plan = planned("violin-back", {"5": 0.97}, limits(2.0), asked)
    mirrored = plan.removal.at(plan.points * [1.0, -1.0])
    most = plan.removed.max()
    assert np.abs(mirrored - plan.removed).max() <= (1e-9 if asked else 0.1) * most


def test_readings_that_scatter_leave_the_plan_on_both_sides() -> None:
    """Sides that differ by 0.05 mm are meant to be alike; left to itself the program takes most from one of them."""
    bench = started("violin-back").bench
    scatter = Hollow(np.array([0.12, 0.06]), 0.06, 0.1e-3)
    uneven = replace(bench.plate, graduation=thinned_graduation(bench.plate.graduation, scatter))
    bench = replace(bench, plate=uneven)
    before = bench.untouched()
    wanted = {"5": 0.985 * before.figure("5")}
    plan = make_plan(bench, before, wanted, limits(2.0))
    apart = make_plan(bench, before, wanted, limits(2.0), symmetric=False)
    odd = [
        np.abs(p.removal.at(p.points * [1.0, -1.0]) - p.removed).mean() / p.removed.mean()
        for p in (plan, apart)
    ]
    assert plan.reached
    assert odd[0] < 1e-9
    assert odd[1] > 0.2


def test_nothing_is_taken_where_nothing_may_be() -> None:
    plan = planned("violin-back", {"5": 0.97}, limits(12.0))
    assert plan.removal.is_empty
    assert not plan.reached


def test_the_first_pass_goes_no_further_than_half_way() -> None:
    plan = planned("violin-top", {"5": 0.97}, limits(2.0))
    passes = plan_passes(started("violin-top").bench, plan)
    now, end = plan.before.figure("5"), plan.after.figure("5")
    assert len(passes) == 2
    assert now - passes[0].trial.figure("5") <= 0.5 * (now - end) * 1.02


def _program(gains: list[float], lack: float, upper: float) -> PlanProgram:
    """A row of shavings, one wish: a plan without a plate."""
    size = len(gains)
    wishes = Wishes(np.array([100.0]), np.array([100.0 - lack]), -1e4 * np.array([gains]), 0.003)
    room = np.full(size, upper)
    return PlanProgram(
        wishes, csr_array(eye_array(size)), room, np.full(size, 1 / size), csr_array(0.1 * eye_array(size))
    )


@settings(max_examples=60, deadline=None)
@given(
    gains=st.lists(st.floats(0.0, 1.0), min_size=3, max_size=12),
    lack=st.floats(0.0, 8.0),
    upper=st.floats(0.05e-3, 0.6e-3),
    more=st.floats(1.0, 3.0),
)
def test_removal_is_never_negative_and_wider_limits_never_cost_more(
    gains: list[float], lack: float, upper: float, more: float
) -> None:
    narrow, wide = (solve_program(_program(gains, lack, u)) for u in (upper, more * upper))
    for answer, most in ((narrow, upper), (wide, more * upper)):
        assert answer.coefficients.min() >= -1e-9
        assert answer.coefficients.max() <= most + 2e-6
    assert wide.cost <= narrow.cost + 1e-4 * (1 + abs(narrow.cost))


def test_nothing_is_taken_where_nothing_lacks() -> None:
    program = _program([1.0, 0.5, 0.2], 0.0, 0.3e-3)
    assert nothing_taken(program).reached
