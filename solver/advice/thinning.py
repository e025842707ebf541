"""Where a shaving does what: the places that lower a mode most, that leave it alone, and that tell two modes apart."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from solver.advice.plan_trials import PlanTrial, plan_bench
from solver.core.arrays import Bools, Floats
from solver.core.units import MM
from solver.modal.modes import Modes
from solver.modal.sensitivity import Sensitivity
from solver.plate.plate import Plate

WHOLE_DEPTH = 0.1 * MM
"""Depth [m] of the shaving that is taken from the whole plate for comparison."""

PLACES = 3
"""How many places of each kind are named."""

_FROM_RIM = 6.0 * MM
"""Nothing nearer to an edge, a hole or the bar is named: no tool takes a shaving there alone."""
_APART = 0.16
"""Distance of named places from each other, as a share of the square root of the plate's area: 35 mm on a violin."""
_LARGE = 95.0
"""Percentile of the plate at which a mode's change counts as large; the highest peaks are of one place only."""
_HARDLY = 0.15
"""Share of a large change that hardly moves a mode."""


@dataclass(frozen=True, eq=False)
class EvenRemoval:
    """The same ``depth`` [m] everywhere."""

    depth: float

    def at(self, points: Floats) -> Floats:
        """Return the depth (n,) [m] at plan points (n, 2) [m]."""
        return np.full(len(points), self.depth)

    def gradient(self, points: Floats) -> Floats:
        """Return its plan gradient (n, 2) [-], nought."""
        return np.zeros((len(points), 2))


@dataclass(frozen=True, eq=False)
class ShavingPlace:
    """A place (2,) [m] and what 0.1 mm from 1 cm2 does there: ``hz`` by the names of the modes asked for, and ``grams``."""

    point: Floats
    hz: dict[str, float]
    grams: float


@dataclass(frozen=True, eq=False)
class ThinningMap:
    """What a shaving does everywhere to the modes asked for, to first order; ``names`` are their numbers, each once."""

    trial: PlanTrial
    sensitivity: Sensitivity
    names: tuple[str, ...]

    @property
    def plate(self) -> Plate:
        """The plate as it is."""
        return self.trial.plate

    @property
    def modes(self) -> Modes:
        """Its tones."""
        return self.trial.modes

    def hz(self, name: str) -> float:
        """Return the tone [Hz] of a mode."""
        return self.trial.figure(name)

    def hz_map(self, name: str) -> Floats:
        """Return the change (n,) [Hz] by 0.1 mm from 1 cm2 at the nodes of the modes."""
        return np.asarray(self.sensitivity.hz_map[self.trial.row(name)])

    def whole(self, name: str) -> float:
        """Return the change [Hz] by 0.1 mm from the whole inside, the bar's strip left out."""
        return float(self.sensitivity.hz_change(EvenRemoval(WHOLE_DEPTH))[self.trial.row(name)])

    @property
    def whole_mass(self) -> float:
        """The mass [kg] that goes with it, as a change."""
        return self.sensitivity.mass_change(EvenRemoval(WHOLE_DEPTH))

    def lowest(self, name: str) -> tuple[ShavingPlace, ...]:
        """Return the places where a shaving lowers the mode most, the most effective first."""
        return self._greatest(-self.hz_map(name), 0.0)

    def highest(self, name: str) -> tuple[ShavingPlace, ...]:
        """Return the places where a shaving raises the mode most, or lowers it least where it raises it nowhere."""
        return self._greatest(self.hz_map(name), -np.inf)

    def telling(self) -> tuple[ShavingPlace, ...]:
        """Return the places where the first mode is lowered and the others stay, the best first."""
        lowered = np.where(self.hz_map(self.names[0]) < 0, self.contrast(), -np.inf)
        return self._greatest(lowered, 0.0)

    def parting(self, lower: str, upper: str) -> tuple[ShavingPlace, ...]:
        """Return the places where a shaving drives the tones ``lower`` and ``upper`` apart most."""
        return self._greatest(self.hz_map(upper) - self.hz_map(lower), 0.0)

    def contrast(self) -> Floats:
        """Return how much more the first mode moves than any other (n,), nan where all hardly move.

        Changes without their sign, each as a share of what is large for its mode: the first's less the greatest of the
        others'. 1 where the first moves much and the others stay, 0 where both move alike, -1 the other way round.
        """
        own, *others = (self._share(name) for name in self.names)
        most = np.max(others, axis=0)
        return np.where(np.maximum(own, most) < _HARDLY, np.nan, np.clip(own - most, -1.0, 1.0))

    def in_strip(self) -> Bools:
        """Tell which nodes (n,) lie under the bar, where nobody thins."""
        points = self.modes.points[:, :2]
        if self.plate.bar is None:
            return np.zeros(len(points), np.bool_)
        return np.asarray(shapely.contains_xy(shapely.Polygon(self.plate.bar.footprint), points))

    def _share(self, name: str) -> Floats:
        size = np.abs(self.hz_map(name))
        return np.asarray(size / np.percentile(size[~self.in_strip()], _LARGE))

    def _in_reach(self) -> Bools:
        """Tell which nodes (n,) a tool can thin without touching an edge, a hole or the bar."""
        points = shapely.points(self.modes.points[:, :2])
        free = shapely.distance(self.plate.outline.polygon.boundary, points) >= _FROM_RIM
        if self.plate.bar is not None:
            free &= shapely.distance(shapely.Polygon(self.plate.bar.footprint), points) >= _FROM_RIM
        return np.asarray(free)

    def _greatest(self, values: Floats, least: float) -> tuple[ShavingPlace, ...]:
        """Return the nodes of the greatest ``values`` (n,) above ``least`` that lie well apart."""
        left = np.where(self._in_reach() & np.isfinite(values), values, -np.inf)
        points, apart = self.modes.points[:, :2], _APART * float(np.sqrt(self.plate.outline.area))
        tree = cKDTree(points)
        found: list[ShavingPlace] = []
        while len(found) < PLACES and left.max() > least:
            node = int(left.argmax())
            found.append(self._place(node))
            left[tree.query_ball_point(points[node], apart)] = -np.inf
        return tuple(found)

    def _place(self, node: int) -> ShavingPlace:
        hz = {name: float(self.hz_map(name)[node]) for name in self.names}
        return ShavingPlace(self.modes.points[node, :2], hz, float(self.sensitivity.gram_map[node]))


def untouched_trial(plate: Plate, size: float | None = None) -> PlanTrial:
    """Return the plate solved as it is; ``size`` is the element size [m] (default: by need)."""
    return plan_bench(plate, size).untouched()


def thinning_map(trial: PlanTrial, names: Sequence[str]) -> ThinningMap:
    """Return what a shaving does to the modes with these numbers, which the trial must have."""
    return ThinningMap(trial, trial.sensitivity(), tuple(dict.fromkeys(names)))
