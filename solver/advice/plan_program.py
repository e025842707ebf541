"""The convex program in a plan: the least and smoothest removal that meets the wishes, to first order.

With coefficients c of the removal r = B c, in tenths of a millimetre, and wishes w_i of which t_i is the share allowed,

    minimise    mean(r) + ROUGH mean((D2 r)^2) + sum_i (MISS m_i + MISS_SQUARED m_i^2)
    subject to  |now_i + G_i c - w_i| <= (AIM t_i + m_i) w_i,   0 <= c,   B c <= upper,   0 <= m_i

The misses m_i are so dear that they are nought wherever the wishes can be met; where not, the answer comes as near as
the limits allow. Solved by the interior-point method of Clarabel (P. J. Goulart and Y. Chen, arXiv:2405.12762).
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse import csc_array, csr_array, eye_array, hstack, triu, vstack

from solver.core.arrays import Bools, Floats, freeze
from solver.core.units import MM

TENTH = 0.1 * MM
"""Depths in the program are counted in this [m]."""

ROUGH = 1.0
"""Weight of roughness against wood."""

MISS, MISS_SQUARED = 20.0, 20.0
"""Cost of a wish missed by a per cent, and by its square, against 0.1 mm taken from the whole plate."""

CLOSE = 1e-3 * MM
"""A limit that is overstepped by less [m] holds; `upper` keeps a margin for it."""

AIM = 0.5
"""Share of the tolerance that the program uses up; the rest is for what the first order leaves out."""

_RIDGE = 1e-6
_MOST_ROUNDS = 12
_FIRST_LIMITS = 1000


@dataclass(frozen=True, eq=False)
class Wishes:
    """What i figures are ``now`` and shall be ``wanted`` (i,), within the share ``tolerance``, ``gains`` (i, v) per m."""

    now: Floats
    wanted: Floats
    gains: Floats
    tolerance: float

    def __post_init__(self) -> None:
        i = len(self.now)
        freeze(self, now=((i,), float), wanted=((i,), float), gains=((i, None), float))

    def only(self, which: Bools) -> "Wishes":
        """Return some of them (i,)."""
        return Wishes(self.now[which], self.wanted[which], self.gains[which], self.tolerance)


@dataclass(frozen=True, eq=False)
class PlanProgram:
    """``wishes`` with limits: at n points B = ``design`` (n, v) times the coefficients stays under ``upper`` (n,) [m].

    ``wood`` (v,) is the mean removal over the plate for each coefficient, ``roughness`` (v, v) the mean of the squared
    second differences.
    """

    wishes: Wishes
    design: csr_array
    upper: Floats
    wood: Floats
    roughness: csr_array

    def __post_init__(self) -> None:
        freeze(self, upper=((self.design.shape[0],), float), wood=((self.design.shape[1],), float))

    def limited(self, upper: Floats) -> "PlanProgram":
        """Return it with other limits (n,) [m]."""
        return replace(self, upper=upper)

    def wishing(self, which: Bools) -> "PlanProgram":
        """Return it with some of the wishes (i,)."""
        return replace(self, wishes=self.wishes.only(which))


@dataclass(frozen=True, eq=False)
class PlanAnswer:
    """What the program finds.

    ``coefficients`` (v,) [m], the figures ``predicted`` (i,) to first order, by what share of it each wish is ``off``
    (i,), whether they are all met within their tolerance, and the ``cost`` of wood, roughness and misses.
    """

    coefficients: Floats
    predicted: Floats
    off: Floats
    reached: bool
    cost: float

    def __post_init__(self) -> None:
        freeze(self, coefficients=((None,), float), predicted=((None,), float), off=((None,), float))


def nothing_taken(program: PlanProgram) -> PlanAnswer:
    """Return what becomes of the wishes if nothing is taken."""
    return _answer(program, np.zeros(len(program.wood)), 0.0)


def solve_program(program: PlanProgram) -> PlanAnswer:
    """Return the best removal; limits are taken in where they matter until none is overstepped by 0.001 mm.

    Raises
    ------
    RuntimeError
        If the solver fails, which it has no reason to: a removal of nothing is always allowed.
    """
    rows = np.zeros(len(program.upper), bool)
    rows[:: max(1, len(rows) // _FIRST_LIMITS)] = True
    for _ in range(_MOST_ROUNDS):
        solution, cost = _solve(program, rows)
        coefficients = TENTH * np.maximum(solution[: len(program.wood)], 0.0)
        over = (program.design @ coefficients > program.upper + CLOSE) & ~rows
        if not over.any():
            return _answer(program, coefficients, cost)
        rows |= over
    raise RuntimeError("the limits of a plan did not settle")


def _answer(program: PlanProgram, coefficients: Floats, cost: float) -> PlanAnswer:
    wishes = program.wishes
    predicted = wishes.now + wishes.gains @ coefficients
    off = predicted / wishes.wanted - 1
    return PlanAnswer(coefficients, predicted, off, bool((np.abs(off) <= wishes.tolerance).all()), cost)


def _solve(program: PlanProgram, rows: Bools) -> tuple[Floats, float]:
    """Return coefficients in tenths of a mm with misses in per cent (v + i,), and the cost."""
    import clarabel

    wishes, size = program.wishes, program.design.shape[1]
    count = len(wishes.now)
    smooth = csr_array(2 * ROUGH * program.roughness + _RIDGE * eye_array(size))
    squared = csr_array(2 * MISS_SQUARED * eye_array(count))
    none, slack = csr_array((size, count)), csr_array(eye_array(count))
    quadratic = vstack([hstack([smooth, none]), hstack([none.T, squared])])
    linear = np.concatenate([program.wood, np.full(count, MISS)])
    per_cent = csr_array(wishes.gains * (100 * TENTH / wishes.wanted)[:, None])
    lacking = 100 * (wishes.wanted - wishes.now) / wishes.wanted
    limits = csr_array(program.design[rows])
    conditions = vstack(
        [
            hstack([per_cent, -slack]),
            hstack([-per_cent, -slack]),
            hstack([limits, csr_array((limits.shape[0], count))]),
            hstack([-csr_array(eye_array(size)), none]),
            hstack([none.T, -slack]),
        ]
    )
    allowed = 100 * AIM * wishes.tolerance
    bounds = np.concatenate(
        [lacking + allowed, allowed - lacking, program.upper[rows] / TENTH, np.zeros(size + count)]
    )
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    solver = clarabel.DefaultSolver(
        csc_array(triu(quadratic)),
        linear,
        csc_array(conditions),
        bounds,
        [clarabel.NonnegativeConeT(len(bounds))],
        settings,
    )
    solution = solver.solve()
    if solution.status not in (clarabel.SolverStatus.Solved, clarabel.SolverStatus.AlmostSolved):
        raise RuntimeError(f"the solver of the plan ended with {solution.status}")
    return np.array(solution.x), float(solution.obj_val)
