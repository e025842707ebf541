"""Powder patterns read off rendered photos: the plate found, the lines where they were laid, bare plates refused."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from scipy.spatial import cKDTree

from solver.advice.pattern_match import ALIKE, PatternMatch, match_pattern, points_along
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM
from solver.measured.photo_file import read_photo
from solver.measured.plate_form import PlateForm
from solver.measured.plate_on_photo import found_by_edge
from solver.measured.powder_photo import PlateView, read_pattern
from solver.modal.node_lines import node_lines
from tests.measured.powder_subjects import WOODS, Solved, powder_shows, scenes, solved
from tests.measured.rendered_photo import Scene, plain, render

NEAR = 3.0 * MM
"""Lines are to be read this exactly in the median."""

RIGHT = 0.95
"""Share of photos on which the mode is to be named, or which are to be refused."""

PHOTOS = 40
REFUSED = 20
"""Photos of each plate with powder on it, and of those without powder and of those without the plate."""

RING = (
    "violin-top-finished",
    4,
    Scene(7, True, turn=200, tilt=18, tilt_towards=70, size=(960, 720), cover="hand", bench="board"),
)
LIGHT = (
    "violin-back-walnut",
    1,
    Scene(
        9,
        turn=300,
        tilt=12,
        size=(960, 720),
        wood=(0.46, 0.3, 0.17),
        powder=(0.92, 0.9, 0.84),
        bench_colour=(0.8, 0.8, 0.8),
        flame=0.05,
        cover="foam",
    ),
)


def form_of(plate: Solved) -> PlateForm:
    return PlateForm(plate.plate.outline, plate.plate.arch, plate.plate.graduation)


def views_on(image: Image.Image, plate: Solved, path: Path) -> tuple[PlateView, ...]:
    """Save a photo as telephones do and read it."""
    image.save(path, quality=88)
    photo, form = read_photo(path), form_of(plate)
    return read_pattern(photo, found_by_edge(photo, form, path.name), form, path.name)


def read_back(case: str, index: int, scene: Scene, path: Path) -> PatternMatch:
    plate = solved(case)
    views = views_on(render(plate.subject, powder_shows(plate.modes, index), scene), plate, path)
    return match_pattern(plate.modes, views, float(np.sqrt(plate.plate.outline.area)))


def off_truth(match: PatternMatch, case: str, index: int) -> Floats:
    """How far (n,) [m] the lines that were read lie from those along which the powder was laid."""
    laid = points_along(node_lines(solved(case).modes, index))
    return np.asarray(cKDTree(laid).query(points_along(match.view.lines))[0])


@pytest.fixture(scope="module")
def ring(tmp_path_factory: pytest.TempPathFactory) -> PatternMatch:
    return read_back(*RING, tmp_path_factory.mktemp("ring") / "photo.jpg")


def check_lines(match: PatternMatch, case: str, index: int) -> None:
    """The mode is named, and the lines lie where they were laid."""
    assert match.best.index == index
    assert match.margin > 0.1
    off = off_truth(match, case, index)
    assert np.median(off) < NEAR / 3
    assert np.quantile(off, 0.9) < NEAR


def test_a_ring_under_a_hand_is_named_and_its_lines_lie_where_they_were_laid(ring: PatternMatch) -> None:
    check_lines(ring, *RING[:2])
    assert ring.view.dark


@pytest.mark.slow
def test_light_powder_on_flamed_wood_is_read_as_well(tmp_path: Path) -> None:
    match = read_back(*LIGHT, tmp_path / "photo.jpg")
    check_lines(match, *LIGHT[:2])
    assert not match.view.dark


@pytest.mark.slow
def test_a_plate_with_an_uneven_pattern_is_seen_from_the_side_it_was_photographed_from(
    ring: PatternMatch,
) -> None:
    assert ring.view.inside
    assert ring.other_side is not None
    assert ring.other_side < ring.best.score - 0.3


@pytest.mark.slow
def test_a_mirrored_photo_is_taken_for_the_other_side_and_read_less_exactly(
    ring: PatternMatch, tmp_path: Path
) -> None:
    """The edge of an even plate is its own mirror image, so that nothing but the side betrays it, which the maker knows."""
    case, index, scene = RING
    match = read_back(case, index, replace(scene, mirrored=True), tmp_path / "photo.jpg")
    assert match.best.index == index
    assert match.view.inside is not ring.view.inside
    assert np.median(off_truth(match, case, index)) > 2 * np.median(off_truth(ring, case, index))


def test_the_camera_stood_where_the_photo_was_taken_from(ring: PatternMatch) -> None:
    assert ring.view.camera.lean_deg == pytest.approx(RING[2].tilt, abs=2.5)


def test_a_plate_without_powder_and_a_bench_without_a_plate_are_refused(tmp_path: Path) -> None:
    case, _, scene = RING
    plate = solved(case)
    with pytest.raises(InputError, match="no powder lines can be seen on the plate"):
        views_on(render(plate.subject, None, scene), plate, tmp_path / "bare.jpg")
    with pytest.raises(InputError, match="the edge of the plate cannot be found"):
        views_on(plain("book", 3, (640, 480)), plate, tmp_path / "book.jpg")


@pytest.mark.slow
@pytest.mark.parametrize("case", WOODS)
def test_forty_photos_of_each_plate(case: str, tmp_path: Path) -> None:
    named, offs = 0, []
    for number, (index, scene) in enumerate(scenes(case, PHOTOS, 20_000)):
        try:
            match = read_back(case, index, scene, tmp_path / "photo.jpg")
        except InputError as refusal:
            print(number, index, refusal)
            offs.append(np.inf)
            continue
        right = match.best.index == index and match.best.score >= ALIKE
        named += right
        offs.append(float(np.median(off_truth(match, case, index))) if right else np.inf)
        print(number, index, match.best.index, f"{offs[-1] / MM:.2f} mm, score {match.best.score:.2f}")
    print(f"{case}: named {named} of {PHOTOS}; median off {np.median(offs) / MM:.2f} mm")
    assert named >= RIGHT * PHOTOS
    assert np.quantile(offs, RIGHT, method="lower") <= NEAR


@pytest.mark.slow
@pytest.mark.parametrize("case", WOODS)
@pytest.mark.parametrize("empty", ["no plate", "no powder"])
def test_photos_without_a_plate_or_without_a_pattern_are_refused(
    empty: str, case: str, tmp_path: Path
) -> None:
    plate, refused = solved(case), 0
    for number, (_, scene) in enumerate(scenes(case, REFUSED, 30_000)):
        things = plain(("bench", "book", "bowl")[number % 3], scene.seed)
        image = things if empty == "no plate" else render(plate.subject, None, scene)
        try:
            views = views_on(image, plate, tmp_path / "photo.jpg")
        except InputError:
            refused += 1
            continue
        match = match_pattern(plate.modes, views, float(np.sqrt(plate.plate.outline.area)))
        refused += match.clearest.score < ALIKE
        print(number, f"not refused at once, score {match.clearest.score:.2f}")
    print(f"{case}, {empty}: refused {refused} of {REFUSED}")
    assert refused >= RIGHT * REFUSED
