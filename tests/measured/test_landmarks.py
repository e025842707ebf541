"""The camera found from places that the maker points out, on a plate that lies on wood like its own."""

import numpy as np
import pytest

from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM
from solver.measured.landmarks import Landmark, found_by_landmarks, named_places
from solver.measured.photo_file import Photo
from solver.measured.plate_form import PlateForm
from tests.measured.powder_subjects import solved
from tests.measured.rendered_photo import Scene, rays_of, render

SCENE = Scene(
    3, inside=True, turn=75, tilt=15, tilt_towards=120, size=(800, 600), bench_colour=(0.86, 0.74, 0.54)
)
PLACES = ("neck", "tail", "upper-left", "lower-right", "lower-left")


@pytest.fixture(scope="module")
def form() -> PlateForm:
    plate = solved("spruce-blank").plate
    return PlateForm(plate.outline, plate.arch, plate.graduation)


@pytest.fixture(scope="module")
def photo() -> Photo:
    colours = np.asarray(render(solved("spruce-blank").subject, None, SCENE)) / 255
    return Photo(colours, 1.0, 0.65 * 1000)


def pixel_of(plan: Floats, height_mm: float) -> Floats:
    """Where the renderer's camera sees a place [m]; pixels are counted from the middle of the first one."""
    pixels = rays_of(solved("spruce-blank").subject, SCENE).pixel(np.array([[*plan / MM, height_mm]]))
    return np.asarray(pixels[0] - 0.5)


def pointed_out(form: PlateForm, names: tuple[str, ...], off: float = 0.0) -> list[Landmark]:
    random, places = np.random.default_rng(4), named_places(form)
    depth = -float(form.graduation.at(np.zeros((1, 2)))[0]) / MM
    return [
        Landmark(pixel_of(places[name], depth) + random.normal(0, off, 2), places[name]) for name in names
    ]


def test_places_have_names_where_a_maker_finds_them(form: PlateForm) -> None:
    places = named_places(form)
    low_x, low_y, high_x, high_y = form.outline.bounds
    assert places["neck"] == pytest.approx([high_x, 0.0], abs=MM)
    assert places["tail"] == pytest.approx([low_x, 0.0], abs=MM)
    assert places["upper-left"] == pytest.approx([high_x, high_y])
    assert places["lower-right"] == pytest.approx([low_x, low_y])


def test_a_violin_has_its_corners() -> None:
    plate = solved("violin-top-before-holes").plate
    places = named_places(PlateForm(plate.outline, plate.arch, plate.graduation))
    assert {"neck", "tail"} <= set(places)
    if "upper-left" in places:
        assert places["upper-left"][1] > 0 > places["upper-right"][1]
        assert places["upper-left"][0] > places["lower-left"][0]


def test_the_camera_is_found_from_five_places(form: PlateForm, photo: Photo) -> None:
    fit = found_by_landmarks(photo, form, pointed_out(form, PLACES, off=0.7))
    assert fit.camera.sees_inside
    assert fit.camera.lean_deg == pytest.approx(SCENE.tilt, abs=4)
    plan = np.array([[0.1, 0.02], [0.25, -0.04]])
    for place, pixel in zip(plan, fit.camera.pixels(form.side(plan, True)), strict=True):
        per_mm = fit.camera.focal / fit.camera.shift[2] * MM
        assert (
            np.linalg.norm(pixel - pixel_of(place, -float(form.graduation.at(plan)[0]) / MM)) < 2.5 * per_mm
        )


def test_places_that_cannot_be_right_are_refused(form: PlateForm, photo: Photo) -> None:
    marks = pointed_out(form, PLACES)
    with pytest.raises(InputError, match="3 places; expected 4 or more"):
        found_by_landmarks(photo, form, marks[:3])
    with pytest.raises(InputError, match="do not fit together"):
        found_by_landmarks(photo, form, [*marks[:4], Landmark(marks[4].pixel + 90, marks[4].plan)])
    with pytest.raises(InputError, match="is off the plate"):
        found_by_landmarks(photo, form, [*marks[:3], Landmark(marks[3].pixel, np.array([2.0, 0.0]))])
    in_line = [Landmark(np.array([100.0 + 80 * n, 300.0]), np.array([0.05 * n, 0.0])) for n in range(5)]
    with pytest.raises(InputError, match="nearly in one line on the plate"):
        found_by_landmarks(photo, form, in_line)
