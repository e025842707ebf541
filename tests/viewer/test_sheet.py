"""The sheet for the bench, measured in the PDF's own coordinates."""

import errno
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import cache
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NoReturn

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PageObject, PdfReader
from pypdf.generic import DictionaryObject
from reportlab.pdfgen.canvas import Canvas
from shapely.geometry.base import BaseGeometry

from meshes.graduation import uniform_graduation
from solver.cli import main
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.modal.node_lines import hold_and_tap
from solver.plate.plate import Role
from solver.plate_folder.schema import LogEntry
from solver.viewer.captions import MINUS
from solver.viewer.sheet.content import Predicted, Removal, SheetContent
from solver.viewer.sheet.facts import CAUTIONS, rows, the_plan
from solver.viewer.sheet.paper import CUT_PAPERS, PAPER_NAMES, PaperName
from solver.viewer.sheet.plan_ink import removal_colour
from solver.viewer.sheet.tiling import OVERLAP, ROOM, lay_tiles
from solver.viewer.sheet.write import write_sheet
from tests.plate_folders import panel_files, write_folder
from tests.viewer.pdf_paths import POINT, Painted, painted
from tests.viewer.plain_plate import BAR, TITLE, A, B, plain_modes, plain_outline, plain_plate

MADE = date(2026, 3, 14)
LOG = (
    LogEntry(taken=datetime(2026, 2, 1, 9, 0, tzinfo=UTC), mass_g=75.0, modes_hz={"1": 91.0, "5": 351.0}),
    LogEntry(
        taken=datetime(2026, 3, 7, 9, 0, tzinfo=UTC), stage="holes cut", mass_g=71.4, modes_hz={"5": 342.0}
    ),
)
DEEPEST, CENTRE, RADIUS = 0.45e-3, np.array([0.03, -0.04]), 0.04


def cone(points: Floats) -> Floats:
    """A removal that falls from its deepest place evenly to nothing: as far from the plate's axes as can be."""
    distance = np.linalg.norm(points - CENTRE, axis=1)
    return np.asarray(DEEPEST * np.clip(1 - distance / RADIUS, 0.0, None))


def content(removal: bool = False) -> SheetContent:
    planned = (
        Removal(cone, Predicted({"5": 341.0}, 0.0705), Predicted({"5": 338.0}, 0.0685)) if removal else None
    )
    least = uniform_graduation(0.00245).at
    return SheetContent(
        "spring-violin", MADE, plain_plate(), plain_modes(4), (0, 1, 3), {"5": 350.0}, least, LOG, planned
    )


@cache
def sheet(paper: PaperName, removal: bool = False) -> PdfReader:
    """The sheet of the plain plate, written once."""
    with TemporaryDirectory() as folder:
        write_sheet(content(removal), paper, Path(folder) / "sheet.pdf")
        data = (Path(folder) / "sheet.pdf").read_bytes()
    return PdfReader(BytesIO(data))


@cache
def ink(paper: PaperName, number: int, removal: bool = False) -> tuple[Painted, ...]:
    return tuple(painted(sheet(paper, removal).pages[number]))


def tile_numbers(paper: PaperName) -> range:
    return range(len(sheet(paper).pages))[0 if paper == "roll" else 1 :]


def level_lines(paths: tuple[Painted, ...]) -> list[tuple[float, float, float]]:
    """Left end, height and length of all level straight lines [mm]."""
    lines = [part for path in paths for part in path.parts if len(part) == 2 and part[1, 0] > part[0, 0]]
    return [(a[0], a[1], b[0] - a[0]) for a, b in lines if abs(b[1] - a[1]) < 1e-6]


def edge_on(paper: PaperName, number: int, removal: bool = False) -> Painted:
    """The outline with its holes: what is drawn in three rings, each of thousands of sides."""
    (edge,) = (p for p in ink(paper, number, removal) if len(p.parts) == 3 and min(map(len, p.parts)) > 50)
    return edge


def window_on(paper: PaperName, number: int) -> tuple[float, float, float, float]:
    """The largest rectangle drawn on a page."""
    rectangles = [
        shapely.Polygon(part) for path in ink(paper, number) for part in path.parts if len(part) == 5
    ]
    return max(rectangles, key=lambda rectangle: rectangle.area).bounds


def crosses_on(paper: PaperName, number: int) -> dict[int, Floats]:
    """Registration crosses by number: a level and an upright line of 8 mm with one middle, and the number beside it."""
    middles = {
        (round(u + 4, 3), round(v, 3))
        for u, v, length in level_lines(ink(paper, number))
        if abs(length - 8) < 1e-3
    }
    uprights = {
        tuple(np.round(part.mean(axis=0), 3))
        for path in ink(paper, number)
        for part in path.parts
        if len(part) == 2
        and abs(part[0, 0] - part[1, 0]) < 1e-6
        and abs(abs(part[0, 1] - part[1, 1]) - 8) < 1e-3
    }
    places = np.array(sorted(middles & uprights))
    found: dict[int, Floats] = {}
    for text, place in words_on(sheet(paper).pages[number]):
        if text.isdigit() and len(places):
            distance = np.linalg.norm(places - place, axis=1)
            if distance.min() < 6:
                found[int(text)] = places[distance.argmin()]
    assert len(found) == len(places)
    return found


def words_on(page: PageObject) -> list[tuple[str, Floats]]:
    """Words on a page and where they begin [mm]."""
    found: list[tuple[str, Floats]] = []

    def see(text: str, cm: list[float], tm: list[float], *_: object) -> None:
        u, v = tm[4] * cm[0] + tm[5] * cm[2] + cm[4], tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
        if text.strip():
            found.append((text.strip(), POINT * np.array([u, v])))

    page.extract_text(visitor_text=see)
    return found


def joined(paper: PaperName) -> dict[int, Floats]:
    """Lay the pages on one another by the numbers of their crosses, as a maker does; return by how much each moved."""
    crosses = {number: crosses_on(paper, number) for number in tile_numbers(paper)}
    moved = {tile_numbers(paper)[0]: np.zeros(2)}
    while len(moved) < len(crosses):
        before = len(moved)
        for number in crosses.keys() - moved.keys():
            for other in list(moved):
                shared = sorted(crosses[number].keys() & crosses[other].keys())
                if shared:
                    steps = [crosses[other][k] + moved[other] - crosses[number][k] for k in shared]
                    assert np.ptp(steps, axis=0).max() < 0.01
                    moved[number] = steps[0]
                    break
        assert len(moved) > before, "some page shares no cross with the others"
    return moved


@pytest.mark.parametrize("paper", PAPER_NAMES)
def test_rulers_on_every_page_are_true(paper: PaperName) -> None:
    for number in range(len(sheet(paper).pages)):
        lines = level_lines(ink(paper, number))
        for length in (100.0, 4 * 25.4):
            (left, foot, _), *more = [line for line in lines if abs(line[2] - length) < 0.1]
            assert not more
            ticks = {
                round(part[0, 0] - left, 2)
                for path in ink(paper, number)
                for part in path.parts
                if len(part) == 2 and part[0] == pytest.approx([part[1, 0], foot])
            }
            assert {0.0, round(length / 4, 2), round(length / 2, 2), round(length, 2)} <= ticks


@pytest.mark.parametrize("paper", PAPER_NAMES)
def test_the_outline_is_true_across_all_pages(paper: PaperName) -> None:
    outline = plain_outline()
    covered: BaseGeometry = shapely.Polygon()
    seen = []
    for number, by in joined(paper).items():
        edge = edge_on(paper, number)
        seen.append(shapely.affinity.translate(edge.line, *by).difference(covered))
        covered = covered.union(shapely.affinity.translate(edge.clip, *by))
    rim = shapely.GeometryCollection(seen)
    true = 1e3 * (outline.edge.length + sum(hole.length for hole in outline.holes))
    assert rim.length == pytest.approx(true, abs=0.1)
    left, bottom, right, top = rim.bounds
    assert (right - left, top - bottom) == pytest.approx((2e3 * B, 2e3 * A), abs=0.01)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_pages_overlap_as_stated(paper: PaperName) -> None:
    moved = joined(paper)
    windows = {n: np.array(window_on(paper, n)) + np.tile(moved[n], 2) for n in moved}
    numbers = sorted(windows)
    assert len(numbers) > 1
    for number, following in pairwise(numbers):
        shared = shapely.box(*windows[number]).intersection(shapely.box(*windows[following]))
        left, bottom, right, top = shared.bounds
        assert min(right - left, top - bottom) == pytest.approx(OVERLAP, abs=0.01)
    said = sheet(paper).pages[0].extract_text().replace("\n", " ")
    assert f"share {OVERLAP:g} mm" in said


@given(
    half_width=st.floats(10, 300),
    half_length=st.floats(30, 500),
    paper=st.sampled_from(PAPER_NAMES),
)
def test_every_plate_is_wholly_on_its_sheets(half_width: float, half_length: float, paper: PaperName) -> None:
    angle = 2 * np.pi * np.arange(60) / 60
    plan = shapely.Polygon(np.column_stack([half_width * np.cos(angle), half_length * np.sin(angle)]))
    tiling = lay_tiles(plan, paper)
    windows = [
        shapely.box(t.window.left, t.window.bottom, t.window.right, t.window.top) for t in tiling.tiles
    ]
    assert shapely.union_all(windows).buffer(1e-6).contains(plan)
    assert all(window.intersects(plan) for window in windows)
    assert len({tile.name for tile in tiling.tiles}) == len(tiling.tiles)
    by_name = {
        tile.name: shapely.box(t.left, t.bottom, t.right, t.top)
        for tile in tiling.tiles
        for t in [tile.window]
    }
    for seam in tiling.seams:
        shared = by_name[seam.tiles[0]].intersection(by_name[seam.tiles[1]])
        left, bottom, right, top = shared.bounds
        assert min(right - left, top - bottom) == pytest.approx(OVERLAP)
        assert all(shared.contains(shapely.Point(cross.u, cross.v).buffer(4.0)) for cross in seam.crosses)
    if paper != "roll":
        size = {tiling.paper.width, tiling.paper.height}
        assert size == {CUT_PAPERS[paper].width, CUT_PAPERS[paper].height}


@pytest.mark.parametrize("paper", PAPER_NAMES)
def test_the_printer_is_asked_not_to_scale(paper: PaperName) -> None:
    root = sheet(paper).trailer["/Root"].get_object()
    assert isinstance(root, DictionaryObject)
    preferences = root["/ViewerPreferences"]
    assert isinstance(preferences, DictionaryObject)
    assert str(preferences["/PrintScaling"]) == "/None"
    for page in sheet(paper).pages:
        size = sorted(float(side) * POINT for side in (page.mediabox.width, page.mediabox.height))
        if paper != "roll":
            assert size == pytest.approx([CUT_PAPERS[paper].width, CUT_PAPERS[paper].height], abs=0.01)


def text_of(paper: PaperName, number: int, removal: bool = False) -> str:
    return " ".join(sheet(paper, removal).pages[number].extract_text().split())


@pytest.mark.parametrize("paper", PAPER_NAMES)
def test_every_page_says_whose_it_is_and_from_where_it_is_seen(paper: PaperName) -> None:
    for number in range(len(sheet(paper).pages)):
        words = text_of(paper, number)
        for said in ("SEEN FROM THE INSIDE", "spring-violin", "2026-03-14", TITLE, "Print at 100 %"):
            assert said in words
    for number in tile_numbers(paper):
        assert {"bass side", "treble side"} <= {
            w.split(" •")[0] for w, _ in words_on(sheet(paper).pages[number])
        }


@pytest.mark.parametrize("paper", PAPER_NAMES)
def test_first_page_has_figures_limits_and_cautions(paper: PaperName) -> None:
    words = text_of(paper, 0)
    assert all(" ".join(caution.split()) in words for caution in CAUTIONS)
    for said in (
        "250.0 Hz B3 +21 cents",  # 440 Hz less 9.787 semitones
        "342 Hz, 2026-03-07",  # the newest
        "91 Hz, 2026-02-01",  # the newest that has mode 1
        "71.4 g, 2026-03-07",
        "350.0 Hz",
        "at least 2.45 mm",
        "Nowhere thinner than 2.45 mm",
        "Already thinner: 2.40 mm",
        "holes cut",
    ):
        assert said in words
    assert "after this pass" not in words


def test_tiles_say_which_lies_beside_them() -> None:
    pages = [text_of("A4", number) for number in tile_numbers("A4")]
    assert len(pages) == 3
    for i, words in enumerate(pages):
        assert f"Tile {i + 1}a of 3" in words
        assert f"page {i + 2} of 4" in words
        assert ("joins 1a" in words) == (i == 1)
        assert ("joins 2a" in words) == (i in (0, 2))


def axis_on(number: int) -> float:
    """Where the centre line lies on a page of A4 [mm]: it is drawn as one line from beyond one end to beyond the other."""
    tall = 2e3 * A + 2 * ROOM
    (u,) = {
        round(part[0, 0], 3)
        for path in ink("A4", number)
        for part in path.parts
        if len(part) == 2 and abs(abs(part[1, 1] - part[0, 1]) - tall) < 0.1
    }
    return float(u)


def lower_end_on(number: int) -> float:
    """Where the plate's tail end, x = -A, lies on a page of A4, which may be beyond the page [mm]."""
    return float(edge_on("A4", number).parts[0][:, 1].min())


def on_page(points: Floats, number: int) -> Floats:
    """Places (n, 2) [m] of the plan on a page [mm]: y to the right, as seen from the inside."""
    return np.column_stack(
        [axis_on(number) + 1e3 * points[:, 1], lower_end_on(number) + 1e3 * (points[:, 0] + A)]
    )


def test_seen_from_the_inside_the_bar_lies_to_the_right() -> None:
    (strip,) = (
        part for path in ink("A4", 2) for part in path.parts if len(part) == 5 and np.ptp(part[:, 1]) > 200
    )
    np.testing.assert_allclose(strip[:4], on_page(BAR.footprint, 2), atol=0.01)
    assert BAR.start[1] > 0  # the bass side
    assert strip[:, 0].min() > axis_on(2)


@pytest.mark.parametrize(("role", "right"), [("top", "bass side"), ("back", "treble side")])
def test_sides_are_named_as_seen_from_the_inside(role: Role, right: str, tmp_path: Path) -> None:
    plate = replace(plain_plate(), role=role)
    write_sheet(replace(content(), plate=plate), "A3", tmp_path / "sheet.pdf")
    page = PdfReader(tmp_path / "sheet.pdf").pages[1]
    named = {word: place[0] for word, place in words_on(page) if word.endswith("side")}
    assert max(named, key=lambda word: named[word]) == right


def test_hold_and_tap_lie_where_the_modes_have_them() -> None:
    modes = plain_modes(4)
    paths = ink("A4", 2)
    drawn = np.array(
        [path.parts[0][:-1].mean(axis=0) for path in paths if path.operator in ("B", "B*", "b", "b*")]
    )
    for index in (0, 1, 3):
        places = hold_and_tap(modes, index)
        for place in on_page(np.vstack([places.hold, places.tap]), 2):
            assert np.linalg.norm(drawn - place, axis=1).min() < 0.2


def test_lines_of_thickness_lie_where_the_plate_is_so_thick() -> None:
    """The plate thickens evenly with x, so each line is level: t = 2.8 + 0.4 x / A mm; 2.45 mm is the limit."""
    heights = set()
    for path in ink("A4", 2):
        for part in path.parts:
            if len(part) > 5 and np.ptp(part[:, 1]) < 0.01 and np.ptp(part[:, 0]) > 20:
                heights.add(round(float(part[:, 1].mean()), 2))
    expected = [
        1e3 * A * (1 + (t - 2.8) / 0.4) + lower_end_on(2) for t in (2.45, 2.5, 2.6, 2.7, 2.8, 2.9, 3.0, 3.1)
    ]
    np.testing.assert_allclose(sorted(heights), expected, atol=0.05)
    numbers = {word for number in tile_numbers("A4") for word, _ in words_on(sheet("A4").pages[number])}
    assert {"2.5", "2.7", "2.9", "3.1", "limit 2.45"} <= numbers


def test_removal_is_filled_in_steps_of_a_tenth() -> None:
    """On a cone the wood with at least d to take off is a disc of radius R (1 - d / deepest)."""

    def disc(depth: float) -> float:
        return float(np.pi * (1e3 * RADIUS * (1 - depth / (1e3 * DEEPEST))) ** 2)

    paths = ink("A3", 1, removal=True)
    for depth in (0.1, 0.2, 0.3, 0.4):
        colour = tuple(int(removal_colour(depth, 0.1)[i : i + 2], 16) / 255 for i in (1, 3, 5))
        (band,) = (
            path.area
            for path in paths
            if path.fill == pytest.approx(colour, abs=2e-3) and path.operator != "S"
        )
        ring = disc(depth) - (disc(depth + 0.1) if depth < 0.4 else 0.0)
        assert band.area == pytest.approx(ring, rel=0.03)
    numbers = {word for word, _ in words_on(sheet("A3", removal=True).pages[1])}
    assert {f"{MINUS}0.{step}" for step in (1, 2, 3, 4)} <= numbers
    words = text_of("A3", 0, removal=True)
    for said in (
        "after this pass",
        "341.0 Hz",
        "70.5 g",
        "338.0 Hz",
        "68.5 g",
        "Take no more than the printed number",
    ):
        assert said in words


def test_a_grey_copy_keeps_the_steps_in_order() -> None:
    def grey(colour: str) -> float:
        red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
        return 0.299 * red + 0.587 * green + 0.114 * blue  # ITU-R BT.601

    shades = [grey(removal_colour(0.1 * step, 0.1)) for step in range(1, 9)]
    assert all(first - second > 10 for first, second in pairwise(shades))
    assert shades[-1] > 90  # ink on it is still read


def test_a_full_disk_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: Canvas) -> NoReturn:
        raise OSError(errno.ENOSPC, "No space left on device")

    (tmp_path / "sheet.pdf").write_text("last week's")
    monkeypatch.setattr(Canvas, "save", full)
    with pytest.raises(InputError, match="No space left"):
        write_sheet(content(), "A4", tmp_path / "sheet.pdf")
    assert [path.read_text() for path in tmp_path.iterdir()] == ["last week's"]


@pytest.fixture
def panel(tmp_path: Path) -> Path:
    return write_folder(tmp_path / "blank", panel_files())


def test_the_command_writes_into_the_folder(panel: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet", str(panel), "--paper", "letter"]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert "seen from the inside, on 2 sheets of Letter" in printed
    pages = PdfReader(panel / "sheet.pdf").pages
    assert len(pages) == 3
    first = " ".join(pages[0].extract_text().split())
    for said in (
        "Blank",
        "folder blank",
        f"{date.today():%Y-%m-%d}",
        "3.00 mm everywhere",
        "Nothing is in the log yet",
    ):
        assert said in first


def test_the_command_marks_the_modes_asked_for(panel: Path, tmp_path: Path) -> None:
    out = tmp_path / "new" / "one.pdf"
    assert main(["sheet", str(panel), "--paper", "roll", "--mode", "2", "--out", str(out)]) == 0
    (page,) = PdfReader(out).pages
    marked = {word for word, _ in words_on(page) if word.startswith(("hold ", "tap "))} - {"hold 5", "tap 5"}
    assert {word.split()[1] for word in marked if word[-1].isdigit()} == {"2"}


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--paper", "foolscap"], "--paper: 'foolscap'; expected one of A4, Letter, A3, roll"),
        (["--mode", "44"], "--mode: no tone of this plate has the shape of mode 44"),
        (["--out", "/proc/sheet.pdf"], "nothing can be written there"),
    ],
)
def test_the_command_says_what_cannot_be_done(
    arguments: list[str], said: str, panel: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", str(panel), *arguments]) == 2
    assert said in capsys.readouterr().err
    assert not list(panel.glob("*.pdf"))


def test_a_tone_wished_for_by_its_place_stands_after_the_numbered_ones() -> None:
    modes = plain_modes(4)
    modes = replace(modes, names=(*modes.names[:3], "#4"))
    named = [row.name for row in rows(replace(content(), modes=modes, shown=(0, 3), wanted_hz={"#4": 240.0}))]
    assert named.index("4th tone") > named.index(f"mode {modes.names[0]}")


def test_a_shared_ring_is_told_where_no_plan_is_printed() -> None:
    modes = plain_modes(4)
    amplitudes = np.zeros((4, 5))
    amplitudes[2:, 4] = np.sqrt([0.5, 0.4])
    shared = replace(modes, amplitudes=amplitudes, names=(None, None, "5", None))
    (said,) = the_plan(replace(content(), modes=shared))
    assert said.startswith("The 3rd and 4th tones share the ring of mode 5, 56 : 44")
