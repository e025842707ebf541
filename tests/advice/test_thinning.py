"""Maps of what a shaving does, and shavings tried, against full solves of plates thinned on their own."""

import numpy as np
import pytest
import shapely

from meshes.removal import Hollow
from solver.advice.shaving import shave
from solver.advice.thinning import EvenRemoval, ShavingPlace, ThinningMap, thinning_map, untouched_trial
from solver.core.errors import InputError
from solver.modal.modes import solve_modes
from solver.plate.mass import plate_mass
from solver.plate.plate import Plate
from solver.plate.thinning import thinned
from tests.modal.thinned_plates import BAR, SIZE, arched_with_bar, flat_with_hole

RADIUS, DEPTH = 0.015, 0.05e-3
"""Of a hollow shallow enough for first order [m]."""
SHAVING = 1e-8
"""0.1 mm from 1 cm2 [m3]."""


@pytest.fixture(scope="module")
def arched() -> Plate:
    return arched_with_bar().plate


@pytest.fixture(scope="module")
def thinning(arched: Plate) -> ThinningMap:
    trial = untouched_trial(arched, SIZE)
    first, second, *_ = (name for name in trial.modes.names if name)
    return thinning_map(trial, (second, first, second))


def hz_after(plate: Plate, hollow: Hollow | EvenRemoval, row: int) -> float:
    return float(solve_modes(thinned(plate, hollow), 8, SIZE).hz[row])


def test_each_mode_is_taken_once(thinning: ThinningMap) -> None:
    assert len(thinning.names) == len(set(thinning.names)) == 2


def test_a_shaving_from_the_whole_against_central_differences(arched: Plate, thinning: ThinningMap) -> None:
    step = 0.02e-3
    for name in thinning.names:
        row = thinning.trial.row(name)
        ends = [hz_after(arched, EvenRemoval(sign * step), row) for sign in (1, -1)]
        assert thinning.whole(name) == pytest.approx((ends[0] - ends[1]) / (2 * step) * 0.1e-3, rel=0.01)


def test_mass_of_a_shaving_from_the_whole(arched: Plate, thinning: ThinningMap) -> None:
    # by the volume under Steiner's formula, another route than the mesh's; the bar only moves with the plate
    step = 0.02e-3
    lost = plate_mass(thinned(arched, EvenRemoval(-step))) - plate_mass(thinned(arched, EvenRemoval(step)))
    assert thinning.whole_mass == pytest.approx(-lost / (2 * step) * 0.1e-3, rel=0.01)


def test_the_best_and_the_worst_place_do_what_is_said(arched: Plate, thinning: ThinningMap) -> None:
    for name in thinning.names:
        row, now = thinning.trial.row(name), thinning.hz(name)
        low, high = thinning.lowest(name)[0], thinning.highest(name)[0]
        changes = []
        for place in low, high:
            hollow = Hollow(place.point, RADIUS, DEPTH)
            changes.append((hz_after(arched, hollow, row) - now) * SHAVING / hollow.volume)
        assert changes[0] < thinning.whole(name) * SHAVING / (0.1e-3 * arched.outline.area)
        assert changes[0] < changes[1]
        assert low.hz[name] < 0


def test_places_lie_apart_and_where_a_tool_can_reach(thinning: ThinningMap) -> None:
    strip = shapely.Polygon(BAR.footprint)
    for places in (
        thinning.lowest(thinning.names[0]),
        thinning.highest(thinning.names[0]),
        thinning.telling(),
    ):
        points = [shapely.Point(place.point) for place in places]
        assert points
        for point in points:
            assert strip.distance(point) >= 6e-3 - 1e-9
            assert thinning.plate.outline.polygon.boundary.distance(point) >= 6e-3 - 1e-9
        gaps = [a.distance(b) for i, a in enumerate(points) for b in points[:i]]
        assert min(gaps, default=1.0) > 0.02


def test_where_one_mode_moves_and_the_other_stays(thinning: ThinningMap) -> None:
    first, other = thinning.names
    large = {name: np.percentile(np.abs(thinning.hz_map(name)), 95) for name in thinning.names}

    def share(place: ShavingPlace, name: str) -> float:
        return float(abs(place.hz[name]) / large[name])

    for place in thinning.telling():
        assert place.hz[first] < 0
        assert share(place, first) > share(place, other)
    known = thinning.contrast()[np.isfinite(thinning.contrast())]
    assert known.min() >= -1
    assert known.max() <= 1
    assert 0 < len(known) < len(thinning.contrast())


def test_a_shaving_against_plates_solved_on_their_own(arched: Plate) -> None:
    hollows = (Hollow(np.array([0.04, -0.03]), 0.025, 0.4e-3), Hollow(np.array([-0.05, 0.05]), 0.02, 0.3e-3))
    shaving = shave(arched, hollows, SIZE)
    before = solve_modes(arched, 8, SIZE)
    both = hollows[0].at(shaving.points) + hollows[1].at(shaving.points)
    assert shaving.before.hz[:8] == pytest.approx(before.hz, rel=1e-9)
    assert shaving.before.names[:8] == before.names
    assert shaving.taken.max() == pytest.approx(0.4e-3, rel=1e-3)
    assert np.abs(shaving.taken - both)[both > 0].min() < 1e-12
    assert shaving.left.min() == pytest.approx(
        arched.graduation.at(shaving.points[[shaving.thinnest]])[0] - both[shaving.thinnest]
    )
    assert shaving.live is not None
    for index in range(6):
        answer = shaving.live.of(int(shaving.places[index]))
        assert answer is not None
        assert answer[0] == pytest.approx(shaving.hz_after(index), abs=max(answer[1], 1e-3 * answer[0]))
    assert shaving.after.names[shaving.places[0]] == shaving.before.names[0]


def test_the_wood_taken_from_a_flat_plate_is_that_of_the_hollow() -> None:
    plate = flat_with_hole().plate
    hollow = Hollow(np.array([0.08, 0.0]), 0.03, 0.5e-3)
    assert shave(plate, [hollow], SIZE).removed == pytest.approx(plate.wood.density * hollow.volume, rel=0.01)


@pytest.mark.slow
def test_a_small_hollow_is_seen_by_the_mesh_of_its_own_need() -> None:
    plate = flat_with_hole().plate
    hollow = Hollow(np.array([0.09, 0.02]), 0.0095, 0.4e-3)
    by_need, fine = shave(plate, [hollow]), shave(plate, [hollow], 0.006)
    changes = [s.hz_after(0) - float(s.before.hz[0]) for s in (by_need, fine)]
    assert changes[0] == pytest.approx(changes[1], rel=0.03)
    assert by_need.removed == pytest.approx(plate.wood.density * hollow.volume, rel=0.01)


@pytest.mark.parametrize(
    ("hollow", "said"),
    [
        (Hollow(np.array([0.2, 0.0]), 0.02, 0.2e-3), "off the plate"),
        (Hollow(np.array([0.0, 0.0]), 0.02, 0.2e-3), 'in the hole "hole"'),
        (Hollow(np.array([0.08, 0.0]), 0.02, 3.0e-3), "expected at least 0.8 mm to be left"),
    ],
)
def test_hollows_that_cannot_be(hollow: Hollow, said: str) -> None:
    with pytest.raises(InputError, match=said):
        shave(flat_with_hole().plate, [hollow], SIZE)
