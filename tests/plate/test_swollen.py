"""A swollen plate against plain geometry."""

import numpy as np
import pytest

from meshes.removal import Hollow
from solver.core.units import MM
from solver.plate.mass import wood_volume
from solver.plate.plate import Plate
from solver.plate.swollen import swollen_plate
from solver.plate.thinning import thinned
from solver.plate_folder.read import read_plate
from tests.plate_folders import ellipse_files, write_folder

SCALE = np.array([1.0, 1.02, 1.03])


@pytest.fixture(scope="module")
def plate(tmp_path_factory: pytest.TempPathFactory) -> Plate:
    return read_plate(write_folder(tmp_path_factory.mktemp("plates") / "ellipse", ellipse_files()))


def test_area_and_volume_grow_by_the_factors(plate: Plate) -> None:
    wide = swollen_plate(plate, SCALE)
    assert wide.outline.area == pytest.approx(plate.outline.area * SCALE[:2].prod(), rel=1e-5)
    before = wood_volume(plate.outline, plate.arch, plate.graduation)
    after = wood_volume(wide.outline, wide.arch, wide.graduation)
    # The arch of the ellipse rises 15 mm over 104: thickness along the normal is off by less than a thirtieth of 1 %.
    assert after == pytest.approx(before * SCALE.prod(), rel=3e-4)


def test_slopes_are_those_of_the_stretched_surface(plate: Plate) -> None:
    arch = swollen_plate(plate, SCALE).arch
    points, step = np.array([[0.12, 0.03], [0.25, -0.05]]), 1e-5
    for k in range(2):
        aside = np.zeros(2)
        aside[k] = step
        ahead, behind = arch.at(points + aside), arch.at(points - aside)
        assert arch.at(points).gradient[:, k] == pytest.approx(
            (ahead.height - behind.height) / (2 * step), abs=1e-8
        )
        assert arch.at(points).hessian[:, :, k] == pytest.approx(
            (ahead.gradient - behind.gradient) / (2 * step), abs=1e-4
        )


def test_thickness_and_bar_keep_their_places_on_the_wood(plate: Plate) -> None:
    wide = swollen_plate(plate, SCALE)
    points = np.array([[0.1, 0.02], [0.2, -0.06]])
    assert wide.graduation.at(points * SCALE[:2]) == pytest.approx(SCALE[2] * plate.graduation.at(points))
    assert plate.bar is not None
    assert wide.bar is not None
    middle = 0.5 * (plate.bar.start + plate.bar.end)[None]
    assert wide.bar.height_at(middle * SCALE[:2]) == pytest.approx(SCALE[2] * plate.bar.height_at(middle))


def test_what_was_taken_before_stays_taken(plate: Plate) -> None:
    hollow = Hollow(np.array([0.1, 0.03]), 30 * MM, 0.5 * MM)
    thin = thinned(plate, hollow)
    wide = swollen_plate(thin, SCALE)
    points = np.array([[0.1, 0.02], [0.09, 0.035], [0.2, -0.06]])
    assert wide.graduation.at(points * SCALE[:2]) == pytest.approx(SCALE[2] * thin.graduation.at(points))
    slopes = thin.graduation.gradient(points) * SCALE[2] / SCALE[:2]
    assert wide.graduation.gradient(points * SCALE[:2]) == pytest.approx(slopes)


def test_nothing_changes_by_factors_of_one(plate: Plate) -> None:
    same = swollen_plate(plate, np.ones(3))
    assert np.array_equal(same.outline.edge.knots, plate.outline.edge.knots)
    points = np.array([[0.1, 0.02]])
    assert same.arch.at(points).height == plate.arch.at(points).height
