"""The patterns of the trade's numbers, and the numbers of plates that a bar, holes or wood made lopsided."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from meshes.graduation import graduation_from_function
from solver.core.arrays import Floats, Ints
from solver.modal.labels import node_areas
from solver.modal.modes import solve_modes
from solver.modal.patterns import CLEAR_SHAPE, ModePatterns, drawn_by, mode_patterns, shape_shares
from solver.plate.mode_label import NUMBERS
from solver.plate.plate import Plate
from solver.plate_folder.read import read_plate
from solver.stock import write_stock_plate

SIZE = 0.022


def _grid(n: int = 61, a: float = 0.18, b: float = 0.10) -> tuple[Floats, Ints]:
    x, y = np.meshgrid(np.linspace(-a, a, n), np.linspace(-b, b, n), indexing="ij")
    k = np.arange(n * n).reshape(n, n)
    low, high = (k[:-1, :-1], k[1:, :-1], k[1:, 1:]), (k[:-1, :-1], k[1:, 1:], k[:-1, 1:])
    triangles = np.vstack([np.column_stack([c.ravel() for c in corners]) for corners in (low, high)])
    return np.column_stack([x.ravel(), y.ravel()]), triangles


POINTS, TRIANGLES = _grid()
AREAS = node_areas(POINTS, TRIANGLES)
U, V = (POINTS / [0.18, 0.10]).T
SHAPES = {
    "1": U * V,
    "2": U**2 - V**2,
    "3": (U**2 - 1 / 3) * V,
    "4": U * (V**2 - 0.3),
    "5": 0.66 - U**2 - V**2,
}


def test_plain_shapes_are_told_apart_whatever_their_sign_and_place() -> None:
    shapes = -np.array([*SHAPES.values()])
    shares = shape_shares(shapes, POINTS + np.array([0.3, 0.02]), AREAS)
    assert [NUMBERS[i] for i in shares.argmax(axis=1)] == [*SHAPES]
    assert shares.max(axis=1).min() > 0.9


def test_many_lines_are_none_of_the_shapes() -> None:
    shares = shape_shares(np.cos(9 * U)[None] * np.cos(8 * V), POINTS, AREAS)
    assert shares.max() < 0.1


@pytest.mark.parametrize(("share", "is_drawn"), [(0.55, True), (0.45, False)])
def test_a_panel_has_a_pattern_where_half_of_a_shape_is_plain(share: float, is_drawn: bool) -> None:
    shares = np.array([[0.9, 0.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 0.0, share]])
    assert drawn_by(shares, CLEAR_SHAPE) == ({"1": 0, "5": 1} if is_drawn else {"1": 0})


def test_amplitudes_do_not_depend_on_the_nodes_and_their_squares_are_what_was_mixed() -> None:
    shapes = np.array([*SHAPES.values()])
    patterns = ModePatterns(POINTS, shapes)
    unit = shapes / np.sqrt((shapes**2) @ AREAS)[:, None]
    other, triangles = _grid(47)
    mixed = 0.8 * unit[4] + 0.6 * np.sign(unit[0] @ (AREAS * unit[0])) * unit[0]
    on_other = np.array([0.8 * _unit("5", other) + 0.6 * _unit("1", other)])
    assert patterns.amplitudes(mixed[None], POINTS, AREAS)[0, [0, 4]] == pytest.approx([0.6, 0.8], abs=2e-3)
    found = patterns.amplitudes(on_other, other, node_areas(other, triangles))
    assert found[0, [0, 4]] == pytest.approx([0.6, 0.8], abs=0.01)


def _unit(name: str, points: Floats) -> Floats:
    u, v = (points / [0.18, 0.10]).T
    shape = {"1": u * v, "5": 0.66 - u**2 - v**2}[name]
    return np.asarray(shape / np.sqrt((SHAPES[name] ** 2) @ AREAS))


@pytest.fixture(scope="module", params=["violin-top", "viola-back", "cello-top"])
def plate(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Plate:
    folder: Path = tmp_path_factory.mktemp("named") / "plate"
    write_stock_plate(folder, request.param)
    return read_plate(folder)


def test_stock_plates_bear_all_numbers_as_they_are_and_bare(plate: Plate) -> None:
    size = SIZE * np.sqrt(plate.outline.area / 0.055)
    bare = replace(plate, outline=plate.outline.without_holes(), bar=None)
    for variant in (plate, bare):
        assert sorted(n for n in solve_modes(variant, 10, size).names if n) == [*NUMBERS]


def test_numbers_stay_where_all_readings_were_a_tenth_less(plate: Plate) -> None:
    """The readings alone decide the thickness; the twist stays the lowest and mode 3 does not jump to another tone."""
    size = SIZE * np.sqrt(plate.outline.area / 0.055)
    map_of = plate.graduation
    low_x, low_y, high_x, high_y = plate.outline.bounds
    thin = graduation_from_function(lambda p: 0.9 * map_of.at(p), (low_x, low_y, high_x, high_y))
    one, other = (solve_modes(replace(plate, graduation=g), 10, size) for g in (map_of, thin))
    assert one.names[:4] == other.names[:4] == ("1", "2", "3", "4")


def test_patterns_are_those_of_outline_and_arch_alone(plate: Plate) -> None:
    """The same object, so that a plate that is thinned, cut or barred is named by the same patterns at no cost."""
    bare = replace(plate, outline=plate.outline.without_holes(), bar=None)
    assert mode_patterns(plate) is mode_patterns(bare)
