"""Outlines written as CSV, SVG and DXF, read back and compared with exact areas and corners."""

import math
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from ezdxf.document import Drawing
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace

from meshes.edge import Edge
from meshes.edge_files import DRAWINGS, read_edges, read_strokes
from meshes.edge_files.csv import read_edge as read_listed
from meshes.edge_files.strokes import edge_from_strokes
from solver.core.errors import InputError

EXACT = 1e-4
"""Of the area: what a drawing may lose on its way to a spline."""

Draw = Callable[[Modelspace], object]


def csv_file(folder: Path, rows: str, name: str = "outline.csv") -> Path:
    path = folder / name
    path.write_text("x_mm,y_mm\n" + "\n".join(rows.split()) + "\n", encoding="utf-8")
    return path


def svg_file(
    folder: Path, body: str, root: str = 'width="400mm" height="300mm" viewBox="0 -150 400 300"'
) -> Path:
    path = folder / "outline.svg"
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {root}>{body}</svg>', encoding="utf-8")
    return path


def dxf_file(folder: Path, *draw: Draw, unit: int = 4, version: str = "R2010", binary: bool = False) -> Path:
    document: Drawing = new(version, units=unit)
    for one in draw:
        one(document.modelspace())
    document.saveas(folder / "outline.dxf", fmt="bin" if binary else "asc")
    return folder / "outline.dxf"


def read_edge(path: Path, name: str) -> Edge:
    """Read an edge without a process of its own for drawings."""
    if path.suffix not in DRAWINGS:
        return read_listed(path, name)
    return edge_from_strokes(path, read_strokes(path, name), name)


def refusal(path: Path, name: str = "outline") -> str:
    with pytest.raises(InputError) as caught:
        read_edge(path, name)
    said = str(caught.value)
    assert "\n" not in said
    return said


def corners_mm(edge: Edge) -> list[list[float]]:
    """The corners in mm, in the order of x, then y."""
    return sorted((1e3 * edge.knots[edge.corners]).round(3).tolist())


# ------------------------------------------------------------------ CSV


@pytest.mark.parametrize(
    ("rows", "corners"),
    [
        ("0,0 0,0 360,0 360,0 360,200 360,200 0,200 0,200", 4),
        ("0,0 0,0 360,0 360,0 360,200 360,200 0,200 0,200 0,0", 4),
        ("0,0 360,0 360,0 360,200 360,200 0,200 0,200 0,0 0,0", 4),
        ("0,200 0,200 360,200 360,200 360,200 360,0 360,0 0,0 0,0", 4),
    ],
    ids=["corners twice", "closed", "closed, first corner at the end", "clockwise, one thrice"],
)
def test_csv_rectangle(tmp_path: Path, rows: str, corners: int) -> None:
    edge = read_edge(csv_file(tmp_path, rows), "outline")
    assert len(edge.corners) == len(edge.knots) == corners
    assert edge.area == pytest.approx(0.072, rel=1e-12)
    assert edge.name == "outline"


def test_csv_closing_point_is_no_corner(tmp_path: Path) -> None:
    angles = np.linspace(0, 2 * np.pi, 49)
    rows = " ".join(f"{180 + 178 * math.cos(t):.6f},{80 * math.sin(t):.6f}" for t in angles)
    edge = read_edge(csv_file(tmp_path, rows), "outline")
    assert (len(edge.knots), len(edge.corners)) == (48, 0)
    assert edge.area == pytest.approx(math.pi * 0.178 * 0.08, rel=1e-5)


@pytest.mark.parametrize(
    ("rows", "part"),
    [
        (
            "0,0 90,-20 170,-22 250,-20 310,-10 360,0",
            "the edge is open: its last point lies 360.0 mm from its first",
        ),
        ("0,0 10,0 20,0 30,1 40,2 50,4 60,7 70,11 80,15 90,22 96,30 99,40", "106.8 mm from its first"),
        ("0,0 100,0", "2 rows of numbers; expected at least 3"),
        ("0,0 0,0 0,0 0,0", "1 different points"),
        ("0,0 100,50 200,60 100,80", "4 different points; expected at least 6"),
    ],
)
def test_csv_refused(tmp_path: Path, rows: str, part: str) -> None:
    assert part in refusal(csv_file(tmp_path, rows))


def test_csv_straight_side_between_corners_closes(tmp_path: Path) -> None:
    arc = " ".join(f"{100 * math.cos(t):.6f},{100 * math.sin(t):.6f}" for t in np.linspace(0, np.pi, 41))
    first, last = arc.split()[0], arc.split()[-1]
    edge = read_edge(csv_file(tmp_path, f"{first} {arc} {last}"), "outline")
    assert edge.area == pytest.approx(0.005 * math.pi, rel=1e-5)
    assert "the edge is open" in refusal(csv_file(tmp_path, arc))
    assert "write the first point again" in refusal(csv_file(tmp_path, arc))


# ------------------------------------------------------------------ SVG


@pytest.mark.parametrize(
    ("body", "area", "corners"),
    [
        ('<circle cx="180" cy="0" r="100"/>', math.pi * 100**2, 0),
        ('<ellipse cx="180" cy="0" rx="178" ry="80"/>', math.pi * 178 * 80, 0),
        ('<rect x="2" y="-100" width="360" height="200"/>', 360 * 200, 4),
        ('<rect x="2" y="-100" width="360" height="200" rx="20"/>', 360 * 200 - (4 - math.pi) * 400, 0),
        ('<rect x="2" y="-100" width="360" height="200" rx="2"/>', 360 * 200 - (4 - math.pi) * 4, 0),
        ('<polygon points="0,0 300,0 300,100"/>', 15000, 3),
        ('<polyline points="0,0 300,0 300,100 0,0"/>', 15000, 3),
        ('<path d="M0 0 h300 v100 a150 150 0 0 1 -300 0 z"/>', 30000 + math.pi * 150**2 / 2, 2),
        ('<path d="M0 0 H100 Q200 0 200 100 L0 100 Z"/>', 100 * 100 + 5000 + 2 / 3 * 5000, 3),
        ('<path d="M0 0 C100 0 200 100 200 200 L0 200 Z"/>', 20000 + (3 * 1e4 + 3 * 2e4 + 6 * 2e4) / 20, 3),
        ('<path d="M 50 0 A 178 80 30 1 1 51 0 z M 1 1 L 5 1 5 5 z"/>', math.pi * 178 * 80, 0),
        ('<path d="M0 0 L300 0"/><path d="M300 100 L300 0"/><path d="M0.02 0 L300 100"/>', 15000, 3),
        (
            '<g transform="translate(150,0) rotate(30) scale(2,3)"><circle r="50"/></g>',
            math.pi * 100 * 150,
            0,
        ),
        (
            '<line x1="0" y1="0" x2="399" y2="3"/><text>A</text><circle cx="180" cy="0" r="100"/>',
            math.pi * 1e4,
            0,
        ),
        ('<defs><circle id="c" r="90"/></defs><use href="#c" x="180"/>', math.pi * 90**2, 0),
        ('<rect width="399" height="299"/><circle id="Outline" cx="180" cy="0" r="100"/>', math.pi * 1e4, 0),
        ('<rect width="399" height="299" visibility="hidden"/><circle cx="180" r="100"/>', math.pi * 1e4, 0),
        ('<rect width="399" height="299" display="none"/><circle cx="180" r="100"/>', math.pi * 1e4, 0),
    ],
)
def test_svg_area_and_corners(tmp_path: Path, body: str, area: float, corners: int) -> None:
    """Exact areas: a parabola's segment is 2/3 of its tangents' triangle; a cubic sweeps, seen from its start,
    (3 P1xP2 + 3 P1xP3 + 6 P2xP3) / 20."""
    edge = read_edge(svg_file(tmp_path, body), "outline")
    assert edge.area == pytest.approx(1e-6 * area, rel=EXACT)
    assert len(edge.corners) == corners


def test_svg_y_goes_up_and_the_viewbox_has_the_origin(tmp_path: Path) -> None:
    edge = read_edge(svg_file(tmp_path, '<polygon points="0,0 300,0 300,-100"/>'), "outline")
    assert corners_mm(edge) == [[0, 0], [300, 0], [300, 100]]


@pytest.mark.parametrize(
    ("root", "mm_per_unit"),
    [
        ('width="400mm" height="300mm" viewBox="0 0 400 300"', 1.0),
        ('width="40cm" height="30cm" viewBox="0 0 200 150"', 2.0),
        ('width="10in" height="100%" viewBox="0 0 254 254"', 1.0),
        ('height="72pt" viewBox="0 0 50 25.4"', 1.0),
        ('width="400mm" height="300mm"', 25.4 / 96),
        ('width="400mm" height="400mm" viewBox="7 8 400 300" preserveAspectRatio="xMidYMid"', 1.0),
    ],
)
def test_svg_units(tmp_path: Path, root: str, mm_per_unit: float) -> None:
    edge = read_edge(svg_file(tmp_path, '<polygon points="0,0 300,0 300,-100"/>', root), "outline")
    expected = mm_per_unit * np.array([[0, 0], [300, 0], [300, 100]])
    np.testing.assert_allclose(corners_mm(edge), expected, atol=2e-3)


@pytest.mark.parametrize(
    ("body", "root", "part"),
    [
        (
            '<circle r="100"/>',
            'viewBox="0 0 400 300"',
            'write width="400mm" height="300mm" into its first tag',
        ),
        ('<circle r="100"/>', 'width="400" height="300px"', "does not say its size in a unit of length"),
        ('<circle r="100"/>', 'width="4mm" height="3mm" viewBox="0 0 0 3"', "a number in it is broken"),
        ('<path d="M0 0 H300 V100"/>', None, "the edge is open: a line ends at x = "),
        ('<path d="M0 0 H300 V100 L0 0.2"/>', None, "0.20 mm from the next end; expected at most 0.05 mm."),
        ('<path d="M0 0 H300 V100 L0 .2"/><circle r="9"/>', None, "0.20 mm from the next end"),
        ('<path d="M0 0 H9 V9"/><path d="M0 0 L9 9"/><path d="M0 0 L9 9"/>', None, "3 lines meet at x = "),
        ("<text>outline</text>", None, "no line is drawn in it"),
        ('<path d="M1 1 h0.001 z"/>', None, "no line is drawn in it"),
        (
            '<path d="M0 0' + "h.009" * 9 + "v.009" * 9 + "h-.009" * 9 + "v-.009" * 9 + '"/>',
            None,
            "steps of less than 0.01 mm",
        ),
        ('<path d="M0 0 L1e999 0 5 5 z"/>', None, "not a finite number"),
        ('<circle r="100">', None, "it is not well-formed SVG; expected a drawing saved as SVG"),
        ('<circle r="100"/>', 'width="4mm" viewBox="a b c d"', "a number in it is broken"),
    ],
)
def test_svg_refused(tmp_path: Path, body: str, root: str | None, part: str) -> None:
    path = svg_file(tmp_path, body, root) if root else svg_file(tmp_path, body)
    assert part in refusal(path)


def test_svg_that_is_none(tmp_path: Path) -> None:
    path = tmp_path / "outline.svg"
    path.write_text("<html><body/></html>", encoding="utf-8")
    assert "not a drawing in SVG" in refusal(path)
    path.write_bytes(b"")
    assert "line 1, column 0" in refusal(path)


def test_hole_is_one_closed_line_or_the_one_with_its_name(tmp_path: Path) -> None:
    three = (
        '<rect width="300" height="100"/><circle cx="40" cy="30" r="5"/><ellipse id="bass" rx="30" ry="4"/>'
    )
    edge = read_edge(svg_file(tmp_path, three), "bass")
    assert edge.area == pytest.approx(1e-6 * math.pi * 120, rel=EXACT)
    assert edge.name == "bass"
    assert "it holds 3 closed lines; expected one" in refusal(svg_file(tmp_path, three), "treble")
    alone = read_edge(svg_file(tmp_path, '<circle r="5"/><path d="M0 0 H3"/>'), "eye")
    assert alone.area == pytest.approx(1e-6 * math.pi * 25, rel=EXACT)


# ------------------------------------------------------------------ DXF


def slot(msp: Modelspace) -> None:
    """Two lines and two arcs, drawn in no particular order or direction."""
    msp.add_line((50, 4), (10, 4))
    msp.add_arc((10, 0), 4, 90, 270)
    msp.add_arc((50, 0), 4, -90, 90)
    msp.add_line((50, -4), (10, -4))


def halves(msp: Modelspace) -> None:
    """An ellipse drawn in two halves and a half of an arc with a spline."""
    msp.add_ellipse((0, 0), (178, 0), 80 / 178, 0, math.pi)
    msp.add_ellipse((0, 0), (178, 0), 80 / 178, math.pi, 2 * math.pi)


def nurbs_circle(msp: Modelspace) -> None:
    """A circle of 100 mm as a rational quadratic spline (exact, The NURBS Book, section 7.5; from memory)."""
    r = math.sqrt(0.5)
    points = [
        (100, 0),
        (100, 100),
        (0, 100),
        (-100, 100),
        (-100, 0),
        (-100, -100),
        (0, -100),
        (100, -100),
        (100, 0),
    ]
    knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]
    msp.add_rational_spline(points, [1, r, 1, r, 1, r, 1, r, 1], degree=2, knots=knots)


def block(msp: Modelspace) -> None:
    definition = msp.doc.blocks.new("plate")
    definition.add_circle((0, 0), 50)
    msp.add_blockref("plate", (180, 0), {"xscale": 2, "yscale": 2, "rotation": 30})


def on_layers(msp: Modelspace) -> None:
    msp.add_lwpolyline([(0, 0), (420, 0), (420, 297), (0, 297)], close=True, dxfattribs={"layer": "frame"})
    msp.add_circle((180, 100), 100, dxfattribs={"layer": "OUTLINE"})


@pytest.mark.parametrize(
    ("draw", "area", "corners"),
    [
        (lambda msp: msp.add_circle((180, 0), 100), math.pi * 1e4, 0),
        (lambda msp: msp.add_ellipse((0, 0), (178, 0), 80 / 178), math.pi * 178 * 80, 0),
        (halves, math.pi * 178 * 80, 0),
        (slot, 40 * 8 + math.pi * 16, 0),
        (nurbs_circle, math.pi * 1e4, 0),
        (block, math.pi * 1e4, 0),
        (on_layers, math.pi * 1e4, 0),
        (lambda msp: msp.add_lwpolyline([(0, 0), (360, 0), (360, 200), (0, 200)], close=True), 72000, 4),
        (lambda msp: msp.add_polyline2d([(0, 0), (360, 0), (360, 200), (0, 200)], close=True), 72000, 4),
        (
            lambda msp: msp.add_lwpolyline(
                [(0, 0, 1), (300, 0, 0), (300, 99, 1), (0, 99, 0)], "xyb", close=True
            ),
            29700 + math.pi * 150**2,
            0,
        ),
        (
            lambda msp: msp.add_lwpolyline(
                [(0, 0, -0.5), (300, 0, 0), (300, 200, 0), (0, 200, 0)], "xyb", close=True
            ),
            60000 - (187.5**2 * math.asin(0.8) - 150 * 112.5),
            4,
        ),
    ],
)
def test_dxf_area_and_corners(tmp_path: Path, draw: Draw, area: float, corners: int) -> None:
    edge = read_edge(dxf_file(tmp_path, draw), "outline")
    assert edge.area == pytest.approx(1e-6 * area, rel=EXACT)
    assert len(edge.corners) == corners


def test_dxf_spline_passes_through_its_points(tmp_path: Path) -> None:
    """A closed interpolating spline by ezdxf itself, on an ellipse that it follows closely."""
    t = np.linspace(0, 2 * np.pi, 61)
    fit = [(178 * math.cos(a), 80 * math.sin(a)) for a in t]
    edge = read_edge(dxf_file(tmp_path, lambda msp: msp.add_cad_spline_control_frame(fit)), "outline")
    assert edge.area == pytest.approx(1e-6 * math.pi * 178 * 80, rel=EXACT)


@pytest.mark.parametrize(("unit", "mm"), [(0, 1.0), (1, 25.4), (4, 1.0), (5, 10.0), (6, 1000.0), (14, 100.0)])
def test_dxf_unit(tmp_path: Path, unit: int, mm: float) -> None:
    corners = [(0, 0), (300 / mm, 0), (300 / mm, 100 / mm)]
    path = dxf_file(tmp_path, lambda msp: msp.add_lwpolyline(corners, close=True), unit=unit)
    np.testing.assert_allclose(
        corners_mm(read_edge(path, "outline")), [[0, 0], [300, 0], [300, 100]], atol=1e-3
    )


@pytest.mark.parametrize(
    ("version", "binary"), [("R12", False), ("R2000", False), ("R2018", False), ("R2018", True)]
)
def test_dxf_old_new_and_binary(tmp_path: Path, version: str, binary: bool) -> None:
    edge = read_edge(dxf_file(tmp_path, slot, version=version, binary=binary), "outline")
    assert edge.area == pytest.approx(1e-6 * (40 * 8 + math.pi * 16), rel=EXACT)


def test_dxf_without_a_header_is_in_mm(tmp_path: Path) -> None:
    lines = "0 SECTION 2 ENTITIES"
    for start, end in (("0 0", "300 0"), ("300 0", "300 100"), ("300 100", "0 0")):
        (x0, y0), (x1, y1) = start.split(), end.split()
        lines += f" 0 LINE 8 0 10 {x0} 20 {y0} 11 {x1} 21 {y1}"
    path = tmp_path / "outline.dxf"
    path.write_text("\n".join(f"{lines} 0 ENDSEC 0 EOF".split()) + "\n", encoding="ascii")
    assert corners_mm(read_edge(path, "outline")) == [[0, 0], [300, 0], [300, 100]]


def with_gap(msp: Modelspace) -> None:
    msp.add_line((0, 0), (300, 0))
    msp.add_line((300, 0), (300, 100))
    msp.add_line((299.7, 100), (0, 0))


def with_centre_line(msp: Modelspace) -> None:
    halves(msp)
    msp.add_line((-178, 0), (178, 0))


@pytest.mark.parametrize(
    ("draw", "unit", "part"),
    [
        (
            with_gap,
            4,
            "the edge is open: a line ends at x = 299.70 mm, y = 100.00 mm, 0.30 mm from the next end",
        ),
        (with_centre_line, 4, "3 lines meet at x = "),
        (lambda msp: msp.add_text("outline"), 4, "no line is drawn in it"),
        (slot, 8, "its unit, $INSUNITS, is 8; expected 4 for mm"),
    ],
)
def test_dxf_refused(tmp_path: Path, draw: Draw, unit: int, part: str) -> None:
    assert part in refusal(dxf_file(tmp_path, draw, unit=unit))


@pytest.mark.parametrize(
    "content", [b"", b"hello\nworld\n", b"\0\1" * 50, b"AutoCAD Binary DXF\r\n\x1a\0dust"]
)
def test_dxf_that_is_none(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "outline.dxf"
    path.write_bytes(content)
    assert "it cannot be read as DXF" in refusal(path)


def test_block_within_itself(tmp_path: Path) -> None:
    def draw(msp: Modelspace) -> None:
        msp.doc.blocks.new("loop").add_blockref("loop", (1, 0))
        msp.add_blockref("loop", (0, 0))

    assert "it cannot be read as DXF" in refusal(dxf_file(tmp_path, draw))


# ------------------------------------------------------------------ all formats


def test_the_three_formats_agree(tmp_path: Path) -> None:
    """A tear: a half circle, two straight sides and a sharp point."""
    arc = [(200 + 100 * math.sin(t), -100 * math.cos(t)) for t in np.linspace(0, np.pi, 61)]
    rows = [(0, 0), (0, 0), (200, -100), *arc, (200, 100)]
    edges = [
        read_edge(csv_file(tmp_path, " ".join(f"{x:.9f},{y:.9f}" for x, y in rows)), "outline"),
        read_edge(svg_file(tmp_path, '<path d="M0 0 L200 100 A100 100 0 0 0 200 -100 Z"/>'), "outline"),
        read_edge(
            dxf_file(
                tmp_path,
                lambda msp: msp.add_lwpolyline([(0, 0, 0), (200, -100, 1), (200, 100, 0)], "xyb", close=True),
            ),
            "outline",
        ),
    ]
    for edge in edges:
        assert edge.area == pytest.approx(0.02 + 0.005 * math.pi, rel=EXACT)
        assert corners_mm(edge) == [[0, 0], [200, -100], [200, 100]]
    marks = [np.diff(edge.corner_marks, append=edge.corner_marks[0] + edge.length) for edge in edges]
    for other in marks[1:]:
        np.testing.assert_allclose(np.sort(other), np.sort(marks[0]), rtol=1e-5)


def test_unknown_ending(tmp_path: Path) -> None:
    said = "outline.step: its format is not known by its ending; expected .csv, .svg or .dxf"
    with pytest.raises(InputError, match=said):
        read_edges([(tmp_path / "outline.step", "outline")])


def test_drawings_and_tables_are_read_together_in_the_order_asked_for(tmp_path: Path) -> None:
    table = csv_file(tmp_path, "0,0 0,0 9,0 9,0 9,9 9,9", "hole.csv")
    drawing = svg_file(tmp_path, '<circle id="outline" cx="180" r="100"/><circle id="eye" cx="150" r="5"/>')
    outline, hole, eye = read_edges([(drawing, "outline"), (table, "hole"), (drawing, "eye")])
    assert [edge.name for edge in (outline, hole, eye)] == ["outline", "hole", "eye"]
    assert outline.area == pytest.approx(math.pi * 1e-2, rel=EXACT)
    assert eye.area == pytest.approx(math.pi * 25e-6, rel=EXACT)


@pytest.mark.parametrize("name", ["outline.svg", "outline.dxf"])
def test_a_drawing_of_too_much_is_refused(tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("meshes.edge_files.stroke.MOST_CURVES", 10)
    svg_file(tmp_path, '<path d="M0 0 L300 0 L300 100 Z"/>' * 4)
    dxf_file(tmp_path, *[slot] * 4)
    assert re.search(
        rf"{name}: \d+ lines and curves are drawn in it; expected at most 10", refusal(tmp_path / name)
    )


@pytest.mark.parametrize("name", ["outline.csv", "outline.svg", "outline.dxf"])
def test_missing_file_is_said_alike(tmp_path: Path, name: str) -> None:
    assert f"{name}: there is no such file in" in refusal(tmp_path / name)


def test_readers_of_drawings_are_loaded_when_used() -> None:
    code = "import sys, meshes.edge_files, meshes.outline; print({'ezdxf', 'svgelements'} & set(sys.modules))"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "set()"
