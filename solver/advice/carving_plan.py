"""A carving plan: the least wood to take from the inside for wanted tones and mass, within limits.

Exact sensitivities at the plate as it stands make a convex program (`plan_program`); its removal is solved in full, which
gives new sensitivities, and so on until the program predicts what the full solve finds (sequential linear approximation,
as in optimum design of structures: L. A. Schmit and B. Farshi, AIAA J. 12 (1974) 692, from memory).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np
from scipy.sparse import csr_array

from meshes.removal import Removal, SmoothRemoval, Sparing
from solver.advice.fitted_tones import MASS
from solver.advice.mirror_image import sides_are_alike
from solver.advice.plan_program import PlanAnswer, PlanProgram, Wishes, nothing_taken, solve_program
from solver.advice.plan_trials import PlanBench, PlanTrial, wood_in_reach
from solver.advice.removal_basis import RemovalBasis, removal_basis
from solver.core.arrays import Floats, freeze
from solver.core.units import MM

TOLERANCE = 0.003
"""Share of a wanted figure by which it may be missed."""

MARGIN = 5e-3 * MM
"""How far [m] a plan stays from its limits, for what a map does between the points at which they are kept."""

_AT_LIMIT = 2 * MARGIN
_AGREED = 0.25 * TOLERANCE
"""Share of a figure to which the program and the full solve agree in the end."""

_MOST_SOLVES = 8


class LeastThickness(Protocol):
    """How thin a plate may get from place to place."""

    def at(self, points: Floats) -> Floats:
        """Return the thickness (n,) [m] at plan points (n, 2) [m]."""
        ...


@dataclass(frozen=True, eq=False)
class PlanLimits:
    """How thin the plate may get and how deep one may cut [m]; ``least`` is a map, constant where one figure is set."""

    least: LeastThickness
    max_removal: float

    def room(self, thickness: Floats, points: Floats) -> Floats:
        """Return the greatest removal (n,) [m] at plan points (n, 2) [m] with this ``thickness`` (n,) [m] now."""
        spare = thickness - self.least.at(points)
        return np.asarray(np.clip(np.minimum(spare, self.max_removal) - MARGIN, 0.0, None))


@dataclass(frozen=True)
class PlannedFigure:
    """A tone [Hz] by its trade's number, or the mass [kg]: as it is, as it is wanted, as it will be by a full solve.

    ``wanted`` is None for a figure that is only told. ``low`` and ``high`` bound what is planned once the wood of the plate
    was fitted to measurements; until then they are None.
    """

    name: str
    now: float
    wanted: float | None
    planned: float
    low: float | None = None
    high: float | None = None

    @property
    def holds(self) -> bool:
        """Tell whether the plan meets the wish, if there is one, within the tolerance."""
        return self.wanted is None or abs(self.planned - self.wanted) <= TOLERANCE * self.wanted


@dataclass(frozen=True, eq=False)
class CarvingPlan:
    """What to take from a plate, and what becomes of it.

    ``removal`` is from the plate as it stands; ``before`` and ``after`` are full solutions; ``points`` (n, 2) [m] are
    where the ``limits`` were kept; ``program`` is the last one, with its ``answer``, from which one sees what held it back;
    ``symmetric`` tells whether both sides are thinned alike; ``bands`` are the intervals of what is planned, where the wood
    was fitted.
    """

    removal: SmoothRemoval
    wanted: Mapping[str, float]
    limits: PlanLimits
    before: PlanTrial
    after: PlanTrial
    points: Floats
    program: PlanProgram
    answer: PlanAnswer
    symmetric: bool
    bands: Mapping[str, tuple[float, float]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        freeze(self, points=((None, 2), float))

    @property
    def figures(self) -> tuple[PlannedFigure, ...]:
        """All numbered modes in order of frequency, then the mass."""
        names = [*(name for name in self.before.modes.names if name), MASS]
        return tuple(
            PlannedFigure(
                name,
                self.before.figure(name),
                self.wanted.get(name),
                self.after.figure(name),
                *self.bands.get(name, (None, None)),
            )
            for name in names
        )

    @property
    def reached(self) -> bool:
        """Tell whether every wish is met by the full solve."""
        return all(figure.holds for figure in self.figures)

    @property
    def taken(self) -> Removal:
        """What is taken: the removal, but nothing under the bar."""
        bar = self.before.plate.bar
        return self.removal if bar is None else Sparing(self.removal, bar.footprint)

    @property
    def held(self) -> dict[str, float]:
        """Shares of the plate at which the least thickness and the greatest depth hold the plan back."""
        spare = self.before.plate.graduation.at(self.points) - self.limits.least.at(self.points)
        if self.removal.is_empty:
            return {}
        thin = self.removed > spare - _AT_LIMIT
        deep = self.removed > self.limits.max_removal - _AT_LIMIT
        shares = {"min_thickness": float(thin.mean()), "max_removal": float(deep.mean())}
        return {limit: share for limit, share in shares.items() if share > 0}

    @property
    def guessed(self) -> float:
        """Share of the planned wood where the thickness is a guess."""
        total = float(self.removed.sum())
        if total <= 0:
            return 0.0
        guess = self.before.plate.graduation.is_guess(self.points)
        return float(self.removed[guess].sum()) / total

    @property
    def removed(self) -> Floats:
        """Depth (n,) [m] that is taken at the points."""
        return self.removal.at(self.points)

    @property
    def left(self) -> Floats:
        """Thickness (n,) [m] that is left at the points."""
        return np.asarray(self.before.plate.graduation.at(self.points) - self.removed)


def make_plan(
    bench: PlanBench,
    before: PlanTrial,
    wanted: Mapping[str, float],
    limits: PlanLimits,
    symmetric: bool | None = None,
) -> CarvingPlan:
    """Return the least removal that brings the ``wanted`` figures, or comes nearest; see `CarvingPlan.reached`.

    ``before`` is the untouched plate; ``wanted`` has frequencies [Hz] by the trade's numbers of modes that it has, and the
    mass [kg] as "mass". A wish that already holds costs nothing. ``symmetric``: the same on both sides of the centre line;
    None leaves it to whether the plate's own sides are alike, because what readings scatter would put all on one of them.
    """
    trial = before
    symmetric = sides_are_alike(bench.plate, bench.cells) if symmetric is None else symmetric
    basis, points = removal_basis(bench.plate.outline, symmetric), wood_in_reach(bench)
    program = _program(bench, basis, limits, points, _wishes(wanted, trial, basis, np.zeros(basis.size)))
    answer = nothing_taken(program)
    removal = basis.removal(answer.coefficients)
    if answer.reached:
        return CarvingPlan(removal, wanted, limits, before, trial, points, program, answer, symmetric)
    for _ in range(_MOST_SOLVES):
        answer = solve_program(program)
        removal = basis.removal(answer.coefficients)
        trial = bench.after(removal, trial)
        if _agree(answer, wanted, trial):
            break
        program = replace(program, wishes=_wishes(wanted, trial, basis, answer.coefficients))
    return CarvingPlan(removal, wanted, limits, before, trial, points, program, answer, symmetric)


def _program(
    bench: PlanBench, basis: RemovalBasis, limits: PlanLimits, points: Floats, wishes: Wishes
) -> PlanProgram:
    """Return the program of a plate with its limits at the points (n, 2) [m]."""
    cells = bench.cells
    wood = np.asarray(cells.areas @ basis.design(cells.points) / cells.areas.sum())
    room = limits.room(bench.plate.graduation.at(points), points)
    roughness = csr_array(basis.roughness() / len(basis.grid.centres))
    return PlanProgram(wishes, basis.design(points), room, wood, roughness)


def _wishes(wanted: Mapping[str, float], trial: PlanTrial, basis: RemovalBasis, taken: Floats) -> Wishes:
    """Return the wishes to first order about a trial that has ``taken`` (v,) [m], told from the untouched plate."""
    gains = trial.gains(basis, [*wanted])
    now = np.array([trial.figure(name) for name in wanted]) - gains @ taken
    return Wishes(now, np.array([*wanted.values()]), gains, TOLERANCE)


def _agree(answer: PlanAnswer, wanted: Mapping[str, float], trial: PlanTrial) -> bool:
    """Tell whether the full solve finds what the program predicted."""
    found = np.array([trial.figure(name) for name in wanted])
    return bool((np.abs(found - answer.predicted) < _AGREED * found).all())
