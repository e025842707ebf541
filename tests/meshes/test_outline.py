"""Edges and outlines against exact areas and lengths, and the sentences for what cannot be a plate."""

import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import FrozenInstanceError

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe

from meshes.cells import cut_into_cells
from meshes.outline import Edge, Outline, edge_through, make_outline
from solver.core.arrays import Floats
from solver.core.errors import InputError

A, B = 0.178, 0.080
ELLIPSE_AREA = math.pi * A * B
ELLIPSE_LENGTH = 4 * A * float(ellipe(1 - (B / A) ** 2))


def ellipse(n: int, a: float = A, b: float = B, at: tuple[float, float] = (0.0, 0.0)) -> Floats:
    t = 2 * np.pi * np.arange(n) / n
    return np.column_stack([a * np.cos(t), b * np.sin(t)]) + at


def rectangle(length: float, width: float, name: str = "outline") -> Edge:
    corners = [[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]]
    return edge_through(np.array(corners), name, [0, 1, 2, 3])


def violin_like(n: int = 80) -> Floats:
    """Two bouts and a waist, as long as a violin."""
    t = 2 * np.pi * np.arange(n) / n
    radius = 0.128 + 0.05 * np.cos(2 * t)
    return np.column_stack([radius * np.cos(t), 0.8 * radius * np.sin(t)])


def hole(at: tuple[float, float], a: float = 0.03, b: float = 0.004, name: str = "bass") -> Edge:
    return edge_through(ellipse(24, a, b, at), name)


def rates(errors: list[float]) -> Floats:
    return np.asarray(-np.diff(np.log2(errors)))


def test_area_and_length_come_to_the_ellipse_with_the_fourth_power_of_the_spacing() -> None:
    edges = [edge_through(ellipse(n), "outline") for n in (24, 48, 96, 192)]
    area_errors = [abs(edge.area / ELLIPSE_AREA - 1) for edge in edges]
    length_errors = [abs(edge.length / ELLIPSE_LENGTH - 1) for edge in edges]
    assert rates(area_errors).min() > 3.8
    assert rates(length_errors).min() > 3.8
    assert area_errors[1] < 3e-6


def test_circle() -> None:
    edge = edge_through(ellipse(60, 0.1, 0.1, (0.3, -0.2)), "outline")
    assert edge.area == pytest.approx(math.pi * 0.01, rel=1e-6)
    assert edge.length == pytest.approx(math.pi * 0.2, rel=1e-6)
    radii = np.linalg.norm(edge.at(np.linspace(0, edge.length, 997)) - [0.3, -0.2], axis=1)
    np.testing.assert_allclose(radii, 0.1, rtol=1e-6)


def test_tear_with_one_corner_converges_too() -> None:
    """The half lemniscate r^2 = a^2 cos 2 phi: area a^2 / 2, a right angle at its corner."""
    a, errors = 0.2, []
    for n in (20, 40, 80, 160):
        t = np.linspace(-np.pi / 2, np.pi / 2, n, endpoint=False)
        points = (a * np.cos(t) / (1 + np.sin(t) ** 2))[:, None] * np.column_stack([np.ones(n), np.sin(t)])
        edge = edge_through(points, "outline", [0])
        errors.append(abs(edge.area / (a**2 / 2) - 1))
        turn = edge.tangent(np.array([edge.length - 1e-9])) @ edge.tangent(np.zeros(1)).T
    assert rates(errors).min() > 3.7
    assert abs(float(turn[0, 0])) < 1e-3


def test_rectangle_is_exact() -> None:
    edge = rectangle(0.36, 0.2)
    assert edge.area == pytest.approx(0.072, rel=1e-14)
    assert edge.length == pytest.approx(1.12, rel=1e-14)
    np.testing.assert_allclose(edge.corner_marks, [0, 0.36, 0.56, 0.92], rtol=1e-14)
    np.testing.assert_allclose(
        edge.at(np.array([0.18, 0.46, 0.74, 1.02])), [[0.18, 0], [0.36, 0.1], [0.18, 0.2], [0, 0.1]]
    )
    np.testing.assert_allclose(
        edge.tangent(edge.corner_marks), [[1, 0], [0, 1], [-1, 0], [0, -1]], atol=1e-14
    )


def test_corners_are_sharp_and_the_rest_is_smooth() -> None:
    """A half disc: two right angles, and the tangent turns evenly along the arc."""
    t = np.linspace(0, np.pi, 31)
    edge = edge_through(0.1 * np.column_stack([np.cos(t), np.sin(t)]), "outline", [0, 30])
    before, after = edge.tangent(edge.corner_marks - 1e-9), edge.tangent(edge.corner_marks + 1e-9)
    np.testing.assert_allclose(np.einsum("ij,ij->i", before, after), 0.0, atol=1e-3)
    tangents = edge.tangent(np.linspace(0.001, 0.1 * np.pi - 0.001, 400))
    turns = np.arctan2(tangents[1:, 1], tangents[1:, 0]) - np.arctan2(tangents[:-1, 1], tangents[:-1, 0])
    np.testing.assert_allclose(np.mod(turns, 2 * np.pi), (np.pi - 0.02) / 399, rtol=0.02)
    assert edge.area == pytest.approx(0.005 * math.pi, rel=1e-5)


def test_arc_length_is_true_even_on_six_points() -> None:
    """Equal steps of s lie equally far apart: checked without the table of lengths and its Gauss rule."""
    edge = edge_through(ellipse(6), "outline")
    fine = edge.at(np.linspace(0, edge.length, 6001))
    steps = np.linalg.norm(np.diff(fine, axis=0), axis=1)
    np.testing.assert_allclose(steps, edge.length / 6000, rtol=2e-6)


def test_arc_length_goes_round() -> None:
    edge = edge_through(violin_like(), "outline")
    s = np.array([0.013, 0.4])
    np.testing.assert_allclose(edge.at(s + edge.length), edge.at(s), atol=1e-12)
    np.testing.assert_allclose(edge.at(s - 3 * edge.length), edge.at(s), atol=1e-12)
    np.testing.assert_allclose(
        edge.at(np.array([0.0, edge.length, -1e-18])), edge.knots[[0, 0, 0]], atol=1e-12
    )


def test_tangents_are_the_slope_of_the_points() -> None:
    edge = edge_through(violin_like(), "outline")
    s = np.linspace(0, edge.length, 57)
    slope = (edge.at(s + 1e-6) - edge.at(s - 1e-6)) / 2e-6
    np.testing.assert_allclose(edge.tangent(s), slope, atol=1e-6)


@given(turn=st.floats(0, 6.28), shift=st.floats(-3, 3), start=st.integers(0, 79), back=st.booleans())
@settings(max_examples=25, deadline=None)
def test_neither_place_nor_turn_nor_order_matters(turn: float, shift: float, start: int, back: bool) -> None:
    plain = edge_through(violin_like(), "outline", [5, 20])
    c, s = math.cos(turn), math.sin(turn)
    points = np.roll(violin_like() @ np.array([[c, s], [-s, c]]) + shift, -start, axis=0)
    corners = np.array([5, 20]) - start
    if back:
        points, corners = points[::-1], 79 - corners
    edge = edge_through(points, "outline", corners % 80)
    assert edge.area == pytest.approx(plain.area, rel=1e-9)
    assert edge.length == pytest.approx(plain.length, rel=1e-9)
    np.testing.assert_allclose(edge.knots[0], points[0])
    angles = np.array([5, 20]) * np.pi / 40
    found = (edge.knots[edge.corners] - shift) @ np.array([[c, -s], [s, c]])
    np.testing.assert_allclose(np.sort(np.arctan2(found[:, 1] / 0.8, found[:, 0])), angles, atol=1e-9)


def test_sampled_polygon_keeps_corners_and_spacing() -> None:
    edge = edge_through(violin_like(), "outline", [0, 20, 33])
    polygon = edge.sampled(0.003)
    sides = np.linalg.norm(polygon - np.roll(polygon, -1, axis=0), axis=1)
    assert sides.max() <= 0.003
    assert sides.min() > 0.0025
    for corner in edge.knots[edge.corners]:
        assert np.linalg.norm(polygon - corner, axis=1).min() < 1e-12
    assert len(rectangle(0.36, 0.2).sampled(1.0)) == 4
    assert shapely.Polygon(edge_through(ellipse(12), "outline").sampled(10.0)).is_valid


def test_frozen() -> None:
    edge = rectangle(0.36, 0.2)
    with pytest.raises(FrozenInstanceError):
        edge.name = "other"  # type: ignore[misc]
    with pytest.raises(ValueError, match="read-only"):
        edge.knots[0] = 0.0
    with pytest.raises(ValueError, match="do not rise"):
        Edge(ellipse(9), np.array([4, 2]))


def test_outline_subtracts_its_holes() -> None:
    outline = make_outline(
        edge_through(ellipse(96), "outline"), [hole((0, 0.04)), hole((0, -0.04), name="treble")]
    )
    wood = ELLIPSE_AREA - 2 * math.pi * 0.03 * 0.004
    assert outline.area == pytest.approx(wood, rel=1e-5)
    assert outline.polygon.area == pytest.approx(wood, rel=2e-5)
    assert outline.without_holes().area == pytest.approx(ELLIPSE_AREA, rel=1e-6)
    assert outline.bounds == pytest.approx((-A, -B, A, B), abs=1e-6)


def test_contains() -> None:
    outline = make_outline(rectangle(0.36, 0.2), [hole((0.18, 0.1))])
    points = np.array([[0.01, 0.01], [0.18, 0.1], [0.18, 0.103], [0.18, 0.105], [0.0, 0.1], [0.4, 0.1]])
    assert outline.contains(points).tolist() == [True, False, False, True, True, False]


def test_spans_of_the_ellipse_and_of_the_rectangle() -> None:
    x = np.random.default_rng(3).uniform(-1.2 * A, 1.2 * A, 400)
    spans = Outline(edge_through(ellipse(192), "outline")).spans(x)
    inside = np.abs(x) < A - 1e-6
    half = B * np.sqrt(1 - (x[inside] / A) ** 2)
    np.testing.assert_allclose(spans[inside], np.column_stack([-half, half]), atol=2e-5)
    assert np.isnan(spans[np.abs(x) > A]).all()
    box = Outline(rectangle(0.36, 0.2)).spans(np.array([0.36, -0.001, 0.0, 0.1]))
    np.testing.assert_allclose(box, [[0, 0.2], [np.nan, np.nan], [0, 0.2], [0, 0.2]], atol=1e-12)


def test_spans_are_those_of_the_polygon() -> None:
    """shapely cuts the same polygon by lines, one at a time."""
    outline = Outline(edge_through(violin_like(), "outline", [11]))
    for x in (-0.17, -0.02, 0.0, 0.123):
        line = shapely.LineString([(x, -1), (x, 1)]).intersection(shapely.Polygon(outline.polygon.exterior))
        np.testing.assert_allclose(
            outline.spans(np.array([x]))[0], [line.bounds[1], line.bounds[3]], atol=1e-12
        )


def test_panel_may_lie_across_but_a_waist_may_not() -> None:
    assert make_outline(rectangle(0.12, 0.3)).bounds == pytest.approx((0, 0, 0.12, 0.3))
    edge = edge_through(violin_like(), "outline")
    make_outline(edge)
    turned = edge_through(violin_like() @ np.array([[0.0, 1.0], [-1.0, 0.0]]), "outline")
    assert "expected x along the centre line" in refusal(turned)


def refusal(edge: Edge, holes: tuple[Edge, ...] = ()) -> str:
    with pytest.raises(InputError) as caught:
        make_outline(edge, holes)
    assert "\n" not in str(caught.value)
    return str(caught.value)


@pytest.mark.parametrize(
    ("size", "advice"),
    [
        ((14.0, 8.2), "If its numbers are inches, multiply them by 25.4."),
        ((29.7, 17.3), "If its numbers are inches, multiply them by 25.4."),
        ((16.1, 9.6), "If its numbers are inches, multiply them by 25.4."),
        ((35.6, 20.8), "If its numbers are centimetres, multiply them by 10."),
        ((75.5, 44.0), ""),
        ((0.356, 0.208), "If its numbers are metres, multiply them by 1000."),
        ((0.36, 0.3), "If its numbers are metres, multiply them by 1000."),
        ((356e3, 208e3), "If its numbers are mm, in a drawing marked as metres, multiply them by 0.001."),
        (
            (356 * 25.4, 208 * 25.4),
            "If its numbers are mm, in a drawing marked as inches, multiply them by 0.03937.",
        ),
        ((3560, 2080), "If its numbers are mm, in a drawing marked as centimetres, multiply them by 0.1."),
        ((356, 2), "Check its points and its unit."),
    ],
)
def test_size_is_looked_at_and_the_unit_guessed(size: tuple[float, float], advice: str) -> None:
    edge = rectangle(1e-3 * size[0], 1e-3 * size[1])
    if not advice:
        assert make_outline(edge).area == pytest.approx(1e-6 * size[0] * size[1])
        return
    said = refusal(edge)
    assert said.startswith("outline: it is ")
    assert "expected 60 to 1000 mm along x and 20 to 600 mm along y" in said
    assert said.endswith(advice)


def test_crossing_is_said_with_its_place() -> None:
    t = 2 * np.pi * np.arange(40) / 40
    eight = np.column_stack([0.1 + 0.15 * np.cos(t), 0.05 + 0.06 * np.sin(2 * t) + 0.01 * np.cos(t)])
    said = refusal(edge_through(eight, "outline"))
    assert "outline: the edge crosses itself near x = 100.0 mm, y = 50.0 mm" in said


@pytest.mark.parametrize(
    ("holes", "parts"),
    [
        (
            [hole((0.0, 0.2))],
            ["bass: the hole lies outside the plate, near x = 0.0 mm, y = 200.0 mm", "origin"],
        ),
        ([hole((0.17, 0.0))], ["bass: the hole crosses the edge near x = 18", "y = 0.0 mm"]),
        (
            [hole((0.0, 0.0755))],
            ["bass: the hole comes within 0.50 mm", "of the edge near x = ", "at least 1 mm"],
        ),
        (
            [hole((0, 0)), hole((0, 0.0085), name="treble")],
            ["treble: the hole comes within 0.50 mm of bass near x = 0.0"],
        ),
        (
            [hole((0, 0)), hole((0, 0.006), name="treble")],
            ["treble: the hole overlaps bass near x = ", "y = 3.0 mm"],
        ),
        ([hole((0, 0), 0.03, 0.02), hole((0, 0), name="eye")], ["eye: the hole overlaps bass"]),
        ([hole((0, 0)), hole((0, 0), name="copy")], ["copy: the hole overlaps bass", "listed twice"]),
        ([hole((0, 0), 0.0014, 0.0004)], ["bass: the hole is 2.8 mm long", "multiply by 25.4"]),
        (
            [
                edge_through(
                    ellipse(24)[[*range(12), 18, 17, 16, 15, 14, 13, 12, *range(19, 24)]] * 0.2, "bass"
                )
            ],
            ["crosses itself"],
        ),
    ],
)
def test_holes_are_inside_and_apart(holes: list[Edge], parts: list[str]) -> None:
    said = refusal(edge_through(ellipse(96), "outline"), tuple(holes))
    for part in parts:
        assert part in said


@pytest.mark.parametrize(
    ("points", "corners", "part"),
    [
        (
            ellipse(5),
            [],
            "outline: it has 5 different points; expected at least 6 for an edge without corners",
        ),
        (ellipse(2), [0], "outline: it has 2 different points; expected at least 3 for an edge with corners"),
        (np.column_stack([np.linspace(0, 0.3, 9), np.zeros(9)]), [0, 8], "lie on one straight line"),
    ],
)
def test_too_little_for_an_edge(points: Floats, corners: list[int], part: str) -> None:
    with pytest.raises(InputError, match=part):
        edge_through(points, "outline", corners)


@pytest.mark.slow
def test_many_threads_ask_the_same_outline_at_once() -> None:
    """An index spoilt by two threads would end the whole program: the bench asks from several."""
    for _ in range(10):
        outline = Outline(edge_through(violin_like(), "outline"), (hole((0.02, 0.02)),))
        inside = cut_into_cells(outline.polygon, 0.004).points
        with ThreadPoolExecutor(6) as pool:
            told = list(pool.map(lambda _: outline.contains(inside), range(12)))  # noqa: B023
            cells = list(pool.map(lambda _: cut_into_cells(outline.polygon, 0.004), range(6)))  # noqa: B023
        assert all(answer.all() for answer in told)
        assert all(np.array_equal(each.points, inside) for each in cells)
