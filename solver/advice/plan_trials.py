"""A plate solved in full as it is thinned by one plan after another, its modes followed by their shape."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from threadpoolctl import threadpool_limits

from meshes.cells import Cells
from meshes.removal import SmoothRemoval
from meshes.triangulate import PlateMesh, triangulate
from solver.advice.fitted_tones import MASS, corrected
from solver.advice.mode_tracking import matched, weighed_shapes
from solver.advice.removal_basis import RemovalBasis
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.modal.assembly import ModalModel, assemble
from solver.modal.labels import carried_names
from solver.modal.modes import Modes, modes_of
from solver.modal.sensitivity import Sensitivity, thinning_sensitivity
from solver.modal.shell import CubicMesh, cubic_mesh
from solver.plate.mass import survey_cells
from solver.plate.plate import Plate
from solver.plate.thinning import thinned

TONES = 10
"""Tones computed of every trial, among which the numbered ones are followed."""


_ALONG_EDGES = 2.0 * MM


@dataclass(frozen=True, eq=False)
class PlanTrial:
    """A plate as thinned, and its full solution; the numbers in ``modes`` are those of the plate before any thinning.

    ``factors`` tell by how much more than the model makes it a figure is expected, where the wood was fitted.
    """

    model: ModalModel
    modes: Modes
    shapes: Floats
    factors: Mapping[str, float] = field(default_factory=dict)

    @property
    def plate(self) -> Plate:
        """The thinned plate."""
        return self.model.plate

    @property
    def expected(self) -> Modes:
        """The modes at the frequencies, and with the mass, that are expected where the wood was fitted."""
        return corrected(self.modes, self.factors)

    def figure(self, name: str) -> float:
        """Return the frequency [Hz] of a numbered mode, or the mass [kg]."""
        solved = self.modes.mass if name == MASS else float(self.modes.hz[self.row(name)])
        return solved * self.factors.get(name, 1.0)

    def row(self, name: str) -> int:
        """Return the place of a figure among the gains: the mode's among the tones, for the mass the one after them."""
        return len(self.modes.hz) if name == MASS else self.modes.names.index(name)

    def gains(self, basis: RemovalBasis, names: Sequence[str]) -> Floats:
        """Return by how much figures (i,) change per m of every coefficient (v,) of a further removal."""
        share = np.array([self.factors.get(name, 1.0) for name in names])
        return np.asarray(share[:, None] * basis.gains(self.sensitivity())[[self.row(n) for n in names]])

    def sensitivity(self) -> Sensitivity:
        """Return what more thinning does."""
        with threadpool_limits(1, user_api="blas"):
            return thinning_sensitivity(self.model, self.modes)


@dataclass(frozen=True, eq=False)
class PlanBench:
    """The plate before any thinning with one mesh for all trials; ``cells`` are small pieces of its area.

    ``factors`` are those of its trials.
    """

    plate: Plate
    mesh: PlateMesh
    cubic: CubicMesh
    cells: Cells
    factors: Mapping[str, float] = field(default_factory=dict)

    def untouched(self) -> PlanTrial:
        """Return the solution of the plate as it is."""
        return self._solved(self.plate)

    def after(self, removal: SmoothRemoval, before: PlanTrial) -> PlanTrial:
        """Return the solution with ``removal`` taken from the untouched plate; modes are followed from those ``before``."""
        trial = self._solved(thinned(self.plate, removal))
        places = matched(before.shapes, trial.shapes)
        names = carried_names(before.modes.names, places, len(trial.modes.hz))
        return replace(trial, modes=replace(trial.modes, names=names))

    def _solved(self, plate: Plate) -> PlanTrial:
        # one thread: two hand the small matrices back and forth for longer than they take
        with threadpool_limits(1, user_api="blas"):
            model = assemble(plate, self.mesh, self.cubic)
            modes = modes_of(model, TONES)
            return PlanTrial(model, modes, weighed_shapes(modes, self.cells), self.factors)


def plan_bench(plate: Plate, size: float | None = None) -> PlanBench:
    """Return the bench for a plate; ``size`` is the element size [m] (default: by need)."""
    mesh = triangulate(plate.outline, None if plate.bar is None else plate.bar.footprint, size)
    return PlanBench(plate, mesh, cubic_mesh(mesh), survey_cells(plate.outline))


def wood_in_reach(bench: PlanBench) -> Floats:
    """Return plan points (n, 2) [m] all over the plate and along its edges that a tool can reach: not under the bar."""
    outline = bench.plate.outline
    edges = [edge.sampled(_ALONG_EDGES) for edge in (outline.edge, *outline.holes)]
    points = np.concatenate([bench.cells.points, *edges])
    if bench.plate.bar is None:
        return points
    under = shapely.contains_xy(shapely.Polygon(bench.plate.bar.footprint), points)
    return np.asarray(points[~under])
