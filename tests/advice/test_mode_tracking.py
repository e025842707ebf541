from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.spatial import cKDTree

from meshes.arch import flat_arch
from meshes.cells import Cells
from meshes.graduation import uniform_graduation
from meshes.outline import edge_through, make_outline
from solver.advice.bar_dimension import DIMENSIONS
from solver.advice.bar_trials import bars_between, make_sweep, solve_bars
from solver.advice.mode_tracking import agreed_names, followed, likeness, matched, weighed_shapes
from solver.core.arrays import Floats
from solver.modal.modes import Modes
from solver.plate.bar import Bar
from solver.plate.mass import survey_cells
from solver.plate.plate import Plate
from tests.viewer.plain_plate import WOOD, plain_modes, plain_outline


@cache
def plain_cells() -> Cells:
    return survey_cells(plain_outline())


def shapes_of(modes: Modes) -> Floats:
    return weighed_shapes(modes, plain_cells())


def test_a_shape_is_like_itself_on_another_mesh_and_unlike_others() -> None:
    """The four shapes by formula, of which the twist is odd in u and v and so is orthogonal to those even in either."""
    alike = likeness(shapes_of(plain_modes(4)), shapes_of(plain_modes(4, rings=31, spokes=77)))
    assert np.diag(alike) == pytest.approx(np.ones(4), abs=0.01)
    assert np.all(alike[0, [1, 2, 3]] < 0.01)


def test_likeness_heeds_neither_sign_nor_size() -> None:
    modes = plain_modes(4)
    turned = replace(modes, fields=modes.fields * np.array([-3.0, 0.2, -1.0, 5.0])[:, None, None])
    assert likeness(shapes_of(modes), shapes_of(turned)) == pytest.approx(
        likeness(shapes_of(modes), shapes_of(modes))
    )


def test_shapes_are_found_again_in_another_order() -> None:
    modes = plain_modes(4)
    order = [2, 0, 3, 1]
    mixed = replace(modes, fields=modes.fields[order])
    assert matched(shapes_of(modes), shapes_of(mixed)).tolist() == [order.index(shape) for shape in range(4)]
    there_and_back = followed([shapes_of(modes), shapes_of(mixed), shapes_of(modes)])
    assert there_and_back[-1].tolist() == [0, 1, 2, 3]


def test_a_number_goes_to_the_shape_that_bears_it_in_most_plates_and_to_one_only() -> None:
    names = [("1", "5", None), ("1", "5", None), ("1", None, "5"), ("5", None, None)]
    places = np.array([[0, 1, 2], [0, 1, 2], [0, 1, 2], [0, 1, 2]])
    assert agreed_names(names, places) == ("1", "5", None)
    crossed = np.array([[0, 1, 2], [0, 1, 2], [0, 2, 1], [1, 0, 2]])
    assert agreed_names(names, crossed) == ("1", "5", None)


def panel_with_a_bar_in_the_middle() -> tuple[Plate, Bar]:
    corners = np.array([[0.0, -0.06], [0.3, -0.06], [0.3, 0.06], [0.0, 0.06]])
    outline = make_outline(edge_through(corners, "outline", range(4)))
    plate = Plate("Panel", "panel", outline, flat_arch(), uniform_graduation(0.003), WOOD)
    level = np.array([[0.0, 0.006], [1.0, 0.006]])
    return plate, Bar(np.array([0.02, 0.0]), np.array([0.28, 0.0]), 0.006, level, WOOD)


def evenness(modes: Modes) -> Floats:
    """For each mode (k,) 1 where its motion is even about the centre line, -1 where it is odd."""
    image = cKDTree(modes.points[:, :2]).query(modes.points[:, :2] * [1.0, -1.0])[1]
    motion = modes.normal_motion
    return np.asarray((motion * motion[:, image]).sum(axis=1) / (motion**2).sum(axis=1))


def test_tones_that_cross_keep_to_their_shape() -> None:
    """A bar on the centre line of an even plate leaves every mode even or odd, so an even and an odd one do cross."""
    plate, bar = panel_with_a_bar_in_the_middle()
    heights = np.array([0.001, 0.003, 0.005])
    solved = list(solve_bars(plate, bars_between(plate, bar, DIMENSIONS["height"], heights, "height")))
    cells = survey_cells(plate.outline)
    # the highest of those computed may change places with one that was not
    places = followed([weighed_shapes(modes, cells) for modes in solved])[:, :5]
    even = np.array([evenness(modes)[row] for modes, row in zip(solved, places, strict=True)])
    assert np.all(np.abs(even) > 0.95)
    assert np.all(np.sign(even) == np.sign(even[0]))
    assert places[-1].tolist() != places[0].tolist()
    sweep = make_sweep(plate, bar, DIMENSIONS["height"], heights, solved)
    for name in sweep.names:
        kinds = [evenness(trial.modes)[trial.place(name)] for trial in sweep.trials]
        assert np.ptp(np.sign(kinds)) == 0
