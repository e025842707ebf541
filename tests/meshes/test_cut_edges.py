"""Sound holes as they are cut and traced: meshed within bounds, whatever the spacing; refused with the place if at all."""

import time

import numpy as np
import pytest
import shapely

from meshes import plan_triangles
from meshes.cut_edges import cut_edges
from meshes.edge import Edge, edge_through
from meshes.outline import Outline, make_outline
from meshes.stock_holes import stock_holes
from meshes.stock_outline import stock_outline
from meshes.triangulate import doubts_of_edges, triangulate
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM
from solver.modal.shell import cubic_mesh
from solver.modal.strains import FIELDS

LENGTH, WIDTH = 355 * MM, 206 * MM
MOST_UNKNOWNS = 30_000


def _ring(points_mm: Floats, spacing: float, turn: float = 0.0, noise: float = 0.0) -> Floats:
    """Points [mm] so far apart along a ring, as from tracing it."""
    ring = shapely.LinearRing(points_mm)
    count = round(ring.length / spacing)
    at = (np.arange(count) / count + turn) % 1.0
    points = shapely.get_coordinates(shapely.line_interpolate_point(ring, at, normalized=True))
    return np.asarray(points + noise * np.random.default_rng(1).standard_normal(points.shape))


def _traced_top(spacing: float, turn: float = 0.0, noise: float = 0.0) -> Outline:
    holes = [
        edge_through(_ring(hole.sampled(0.05 * MM) / MM, spacing, turn, noise) * MM, hole.name)
        for hole in stock_holes(LENGTH, WIDTH)
    ]
    return make_outline(stock_outline(LENGTH, WIDTH).edge, holes)


def _hooked() -> Floats:
    """A hook about an eye [mm], 1.5 mm of wood between both: once round, the eye first."""
    t = np.linspace(0, 2 * np.pi, 200)
    eye = shapely.Point(190.0, 30.0).buffer(3.4)
    spine = np.column_stack([190 - 7.4 * np.cos(t[:120] * 0.9), 30 - 7.4 * np.sin(t[:120] * 0.9)])
    neck = shapely.LineString([(190.0, 30.0), tuple(spine[0])]).buffer(0.6)
    hole = shapely.union_all([eye, neck, shapely.LineString(spine).buffer(2.5)])
    return shapely.get_coordinates(shapely.get_exterior_ring(hole))


@pytest.mark.parametrize("turn", [0.0, 0.37])
@pytest.mark.parametrize("spacing", [0.5, 1.0, 1.7, 2.5, 4.0, 6.0])
def test_traced_holes_are_meshed_within_bounds(spacing: float, turn: float) -> None:
    mesh = triangulate(_traced_top(spacing, turn))
    assert mesh.quality > 0.02
    assert FIELDS * len(cubic_mesh(mesh).nodes) <= MOST_UNKNOWNS


def test_pieces_are_small_across_the_neck_of_one_hole() -> None:
    """Between eye and hook 1.5 mm of wood is left, all of it between two stretches of the same edge."""
    edge = edge_through(_ring(_hooked(), 0.5) * MM, "bass")
    ring = cut_edges([stock_outline(LENGTH, WIDTH).edge, edge], None, 16 * MM, 1.3 * MM, 10 * MM)[1]
    from_eye = np.linalg.norm(ring.points / MM - [190.0, 30.0], axis=1)
    inner_hook = np.abs(from_eye - 4.9) < 0.3
    assert inner_hook.sum() >= 8
    assert ring.lengths[inner_hook].max() < 3.5 * MM
    assert triangulate(make_outline(stock_outline(LENGTH, WIDTH).edge, [edge])).quality > 0.02


def test_pieces_keep_clear_of_each_other_and_near_their_edge() -> None:
    outline = _traced_top(2.5)
    rings = cut_edges((outline.edge, *outline.holes), None, 16 * MM, 1.3 * MM, 10 * MM)
    polygon = shapely.Polygon(rings[0].points, [r.points for r in rings[1:]])
    assert polygon.is_valid
    for ring in rings:
        pieces = shapely.LinearRing(ring.parabolas(np.linspace(0, 1, 9)[:-1]).reshape(-1, 2))
        assert pieces.is_simple
        assert shapely.hausdorff_distance(pieces, shapely.LinearRing(ring.edge.sampled(0.2 * MM))) < 0.25 * MM


def test_a_trembling_hand_costs_no_elements_and_is_told_of() -> None:
    calm, trembling = _traced_top(0.5), _traced_top(0.5, noise=0.06)
    assert len(triangulate(trembling).triangles) < 1.25 * len(triangulate(calm).triangles)
    told = doubts_of_edges(trembling)
    assert told == triangulate(trembling).smoothed
    assert any("bass: detail too fine for sound is smoothed" in line and "near x = " in line for line in told)


def test_edges_that_meet_are_refused_with_their_place() -> None:
    """No outline is made of such edges by hand, but the mesher must not rely on it."""
    square = np.array([[100.0, 20], [140, 20], [140, 40], [100, 40]]) * MM
    outline = Outline(
        stock_outline(LENGTH, WIDTH).edge,
        (_box(square, "bass"), _box(np.add(square, [0.0, 10 * MM]), "treble")),
    )
    with pytest.raises(InputError, match=r"bass: its edge meets itself or another near x = 1\d\d"):
        triangulate(outline)
    assert "meets" in doubts_of_edges(outline)[0]


def test_a_mesher_that_does_not_end_is_given_up_with_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    ended = []

    def endless(*_: object) -> None:
        begun = time.process_time()
        while time.process_time() - begun < 2.0:
            pass
        ended.append(True)

    monkeypatch.setattr(plan_triangles, "_between", endless)
    monkeypatch.setattr(plan_triangles, "MOST_SECONDS", 0.1)
    with pytest.raises(InputError, match=r"no mesh was found .* near x = "):
        triangulate(stock_outline(LENGTH, WIDTH))
    assert not ended


def test_a_mesh_that_was_given_up_comes_to_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """One of three million triangles, which would take minutes; the next mesh waits half a minute for it at most."""
    outline = stock_outline(LENGTH, WIDTH)
    monkeypatch.setattr(plan_triangles, "MOST_SECONDS", 0.5)
    with pytest.raises(plan_triangles.EndlessMeshError):
        plan_triangles.plan_triangles([outline.edge.sampled(0.2 * MM)], None, 0.2 * MM)
    monkeypatch.undo()
    assert triangulate(outline).quality > 0.02


def _box(corners: Floats, name: str) -> Edge:
    return edge_through(corners, name, range(4))


def _notched_slot() -> Floats:
    """A slot [mm] with a notch, traced at 1 mm by a hand that trembles: at its tip the curve crosses itself."""
    side = np.arange(140.0, 161.0)
    after = np.arange(166.9, 190.0)
    notch = [
        (162.26, 40.24),
        (163.16, 40.03),
        (163.53, 39.28),
        (163.29, 38.73),
        (163.94, 39.72),
        (164.95, 39.78),
    ]
    lower = [*((x, 40.3) for x in side), *notch, (165.9, 39.72), *((x, 39.6) for x in after)]
    return np.array([*lower, *((x, 46.0) for x in (*after[::-1], 165.9, *np.arange(164.9, 140.0, -1.0)))])


def test_a_notch_that_crosses_itself_by_a_tremor_is_steadied_and_told() -> None:
    traced = edge_through(_notched_slot() * MM, "bass")
    assert not shapely.Polygon(traced.polygon).is_valid
    outline = make_outline(stock_outline(LENGTH, WIDTH).edge, [traced])
    steady = outline.holes[0]
    assert shapely.Polygon(steady.polygon).is_valid
    assert 0 < steady.moved.max() <= 0.2001 * MM
    assert (steady.moved > 0).sum() <= 8
    told = triangulate(outline).smoothed
    assert told == doubts_of_edges(outline)
    assert any(line.startswith("bass: detail too fine for sound is smoothed, by 0.") for line in told)


def test_points_in_the_wrong_order_are_no_tremor() -> None:
    points = _notched_slot()
    points[[30, 34]] = points[[34, 30]]
    with pytest.raises(InputError, match=r"bass: the edge crosses itself near x = "):
        make_outline(stock_outline(LENGTH, WIDTH).edge, [edge_through(points * MM, "bass")])
