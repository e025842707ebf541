"""A shaving tried before it is taken: tones, mass and thickness before and after, and the live model's answer."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from threadpoolctl import threadpool_limits

from meshes.removal import Hollow, Together
from solver.advice.mode_tracking import likeness, matched, weighed_shapes
from solver.advice.places_in_words import in_mm
from solver.advice.plan_trials import PlanBench, plan_bench, wood_in_reach
from solver.core.arrays import Bools, Floats, Ints, freeze
from solver.core.errors import InputError
from solver.core.units import MM
from solver.modal.assembly import ModalModel, assemble
from solver.modal.labels import carried_names
from solver.modal.modes import Modes, modes_of
from solver.modal.reduced import reduced_model
from solver.plate.plate import Plate
from solver.plate.thinning import thinned

TONES = 20
"""Tones computed before and after, among which they are followed by shape; the live model is built from them too."""

LEAST_LEFT = 0.8 * MM
"""Thinner than this no plate is tried: it would not be one (common practice, no source)."""

CLEAR = 0.5
"""Likeness below which a shape has mixed with another."""

_FINER_BELOW, _LEAST_RADIUS = 0.071, 0.035
"""Radii as shares of the square root of the plate's area, 16 and 8 mm on a violin: below the one the usual elements do not
see a hollow well (its effect is 12 % off at 10 mm) and are made as small as its radius, below the other they would be too
many.
"""

_ACROSS = 61
"""Points across a hollow at which the thickness that is left is looked for."""


@dataclass(frozen=True, eq=False)
class LiveAnswer:
    """What the live model says (8,): ``hz`` and by how much [Hz] it may be ``off`` by its own estimate.

    ``places`` tell which of the tones after the full solve each of them is.
    """

    hz: Floats
    off: Floats
    places: Ints

    def __post_init__(self) -> None:
        freeze(self, hz=((None,), float), off=((len(self.hz),), float), places=((len(self.hz),), int))

    def of(self, place: int) -> tuple[float, float] | None:
        """Return Hz and doubt [Hz] for a tone after the full solve, None where the live model does not answer for it."""
        found = np.flatnonzero(self.places == place)
        return (float(self.hz[found[0]]), float(self.off[found[0]])) if len(found) else None


@dataclass(frozen=True, eq=False)
class Shaving:
    """A plate before and after hollows were taken from its inside, both solved in full.

    ``bench`` and ``models`` are those of the plate before and after. ``places`` (k,) tell which tone after each tone before
    has become, by its shape, and ``alike`` (k,) how sure that is, 1 for the same shape. ``live`` is None where the live
    model does not reach so deep. ``points`` (n, 2) [m] cover what a tool can reach; ``left`` (n,) [m] is the thickness
    there afterwards and ``taken`` (n,) [m] what went.
    """

    plate: Plate
    hollows: tuple[Hollow, ...]
    bench: PlanBench
    models: tuple[ModalModel, ModalModel]
    before: Modes
    after: Modes
    places: Ints
    alike: Floats
    live: LiveAnswer | None
    points: Floats
    left: Floats
    taken: Floats

    def __post_init__(self) -> None:
        k, n = len(self.before.hz), len(self.points)
        freeze(
            self,
            places=((k,), int),
            alike=((k,), float),
            points=((n, 2), float),
            left=((n,), float),
            taken=((n,), float),
        )

    def hz_after(self, index: int) -> float:
        """Return what a tone before has become [Hz]."""
        return float(self.after.hz[self.places[index]])

    @property
    def removed(self) -> float:
        """Mass [kg] that was taken."""
        return self.before.mass - self.after.mass

    @property
    def thinnest(self) -> int:
        """The number of the point where the least thickness is left."""
        return int(self.left.argmin())

    def on_guess(self) -> tuple[Hollow, ...]:
        """Return the hollows whose middle lies where the thickness is a guess."""
        return tuple(h for h in self.hollows if self.plate.graduation.is_guess(h.centre[None])[0])

    def over_bar(self) -> tuple[Hollow, ...]:
        """Return the hollows that reach over the bar's strip, where nothing is taken."""
        if self.plate.bar is None:
            return ()
        strip = shapely.Polygon(self.plate.bar.footprint)
        return tuple(h for h in self.hollows if strip.distance(shapely.Point(h.centre)) < h.radius)

    def too_thin(self, least: float) -> Bools:
        """Tell which points (n,) the shaving takes wood from and leaves thinner than ``least`` [m]."""
        return np.asarray((self.taken > 0) & (self.left < least))


def shave(plate: Plate, hollows: Sequence[Hollow], size: float | None = None) -> Shaving:
    """Return what taking the hollows from the inside does; where they overlap their depths add.

    ``size`` is the element size [m] (default: by need, finer where a hollow is small).

    Raises
    ------
    InputError
        If the middle of a hollow is not on the wood, all of one lies under the bar, one is too small for the plate, or less
        than 0.8 mm would be left.
    """
    for hollow in hollows:
        check_hollow(hollow, plate)
    removal = Together(tuple(hollows))
    bench = plan_bench(plate, size or _size_by_need(plate, hollows))
    shaved = thinned(plate, removal)
    points = _points(bench, hollows)
    left = shaved.graduation.at(points)
    taken = plate.graduation.at(points) - left
    _check_left(points, left, taken)
    # one thread: two hand the small matrices back and forth for longer than they take
    with threadpool_limits(1, user_api="blas"):
        model = assemble(plate, bench.mesh, bench.cubic)
        before = modes_of(model, TONES)
        model_after = assemble(shaved, bench.mesh, bench.cubic)
        after = modes_of(model_after, TONES)
        shapes, shapes_after = weighed_shapes(before, bench.cells), weighed_shapes(after, bench.cells)
        places = matched(shapes, shapes_after)
        live = _live_answer(model, before, removal, after, shapes_after, bench)
    after = replace(after, names=carried_names(before.names, places, len(after.hz)))
    alike = likeness(shapes, shapes_after)[np.arange(TONES), places]
    models = (model, model_after)
    return Shaving(
        plate, tuple(hollows), bench, models, before, after, places, alike, live, points, left, taken
    )


def check_hollow(hollow: Hollow, plate: Plate) -> None:
    """Refuse a hollow that no tool can take from this plate; raises InputError as `shave`."""
    middle, least = shapely.Point(hollow.centre), _LEAST_RADIUS * float(np.sqrt(plate.outline.area))
    spot = f"--spot at {in_mm(hollow.centre)}"
    if not shapely.Polygon(plate.outline.polygon.exterior).covers(middle):
        xmin, ymin, xmax, ymax = np.array(plate.outline.bounds) / MM
        raise InputError(
            f"{spot}: its middle is off the plate; expected it on the wood, which reaches from x {xmin:.0f} to {xmax:.0f} "
            f"and y {ymin:.0f} to {ymax:.0f} mm. Check which side y counts from (to the left seen from outside)."
        )
    if hollow.radius < least:
        raise InputError(
            f"{spot}: its radius is {hollow.radius / MM:g} mm; expected at least {np.ceil(least / MM):.0f} mm on a plate "
            "of this size, because a smaller hollow is not computed well. Make it wider and less deep."
        )
    for hole in plate.outline.holes:
        if shapely.Polygon(hole.sampled(0.5 * MM)).contains(middle):
            raise InputError(
                f'{spot}: its middle lies in the hole "{hole.name}"; expected it on the wood. Move it beside the hole.'
            )
    if plate.bar is not None:
        disc = middle.buffer(hollow.radius)
        if shapely.Polygon(plate.bar.footprint).covers(disc):
            raise InputError(
                f"{spot}: all of it lies under the bar, where nobody thins; expected wood in reach of a tool. Move it."
            )


def _size_by_need(plate: Plate, hollows: Sequence[Hollow]) -> float | None:
    """Return the element size [m] for the smallest hollow, None where the usual one will do."""
    smallest = min(hollow.radius for hollow in hollows)
    return smallest if smallest < _FINER_BELOW * np.sqrt(plate.outline.area) else None


def _check_left(points: Floats, left: Floats, taken: Floats) -> None:
    """Refuse a shaving that leaves no plate."""
    left = np.where(taken > 0, left, np.inf)
    worst = int(left.argmin())
    if left[worst] < LEAST_LEFT:
        raise InputError(
            f"--spot: {taken[worst] / MM:.2f} mm would go of {(left[worst] + taken[worst]) / MM:.2f} mm at "
            f"{in_mm(points[worst])}; expected at least {LEAST_LEFT / MM:g} mm to be left. Take less."
        )


def _points(bench: PlanBench, hollows: Sequence[Hollow]) -> Floats:
    """Return points (n, 2) [m] all over the wood in reach, close together in the hollows."""
    steps = np.linspace(-1, 1, _ACROSS)
    square = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    close = np.vstack([h.centre + h.radius * square for h in hollows])
    return np.vstack([wood_in_reach(bench), close[bench.plate.outline.contains(close)]])


def _live_answer(
    model: ModalModel, before: Modes, removal: Together, after: Modes, shapes_after: Floats, bench: PlanBench
) -> LiveAnswer | None:
    """Return the live model's answer; None where more is taken than it reaches."""
    live = reduced_model(model, before)
    try:
        trial = live.untouched.with_removal(removal.at(live.places))
    except InputError:
        return None
    shapes = weighed_shapes(trial.shapes(after.thickness), bench.cells)
    return LiveAnswer(trial.hz, trial.doubt * trial.hz, matched(shapes, shapes_after))
