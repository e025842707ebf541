"""Patterns held against computed modes: named, measured, shifted, and explained by a thinner spot."""

import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from meshes.removal import Hollow
from solver.advice.pattern_difference import pattern_difference
from solver.advice.pattern_match import LinePair, PatternMatch, match_pattern, pattern_scores, points_along
from solver.advice.pattern_reading import PatternReading, read_against
from solver.advice.plate_patterns import KnownShapes, PlatePatterns, plate_patterns
from solver.advice.shape_hint import shape_hint
from solver.advice.tone_response import meshed
from solver.commands.pattern_answer import pattern_in_words
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM
from solver.measured.camera import square_on
from solver.measured.powder_photo import PlateView
from solver.measured.seen_lines import read_seen_lines, write_seen_lines
from solver.measured.straightened import Straightened
from solver.modal.node_lines import node_lines
from solver.plate.thinning import thinned
from solver.plate_folder.read import read_plate

CASE = Path(__file__).parents[2] / "cases" / "violin-top-finished"
SIZE = 0.02
RING = 4


pytestmark = pytest.mark.xdist_group("pattern_match")  # one worker, so that what they share is made once


@pytest.fixture(scope="module")
def patterns() -> PlatePatterns:
    return plate_patterns(read_plate(CASE), SIZE)


def view_of(lines: tuple[Floats, ...], plate: PlatePatterns) -> PlateView:
    """A photo on which the whole plate is seen, with the lines given."""
    low_x, low_y, high_x, high_y = plate.plate.outline.bounds
    x, y = np.arange(low_x, high_x, MM), np.arange(low_y, high_y, MM)
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    seen = plate.plate.outline.contains(grid).reshape(len(x), len(y))
    flat = Straightened(x, y, np.zeros((*seen.shape, 3)), np.where(seen, 10 * MM, 0.0))
    camera = square_on(np.zeros(2), 0.0, 3000.0, False, 1000.0, np.zeros(2))
    return PlateView(camera, flat, lines, seen, True)


def matched(
    patterns: PlatePatterns, index: int, shift: tuple[float, float], **asked: float | None
) -> PatternMatch:
    lines = tuple(line + np.array(shift) * MM for line in node_lines(patterns.modes, index))
    return match_pattern(patterns.modes, (view_of(lines, patterns),), patterns.size, asked.get("hz"))


def test_shapes_that_were_kept_tell_what_solving_again_would(patterns: PlatePatterns) -> None:
    kept = pickle.loads(pickle.dumps(KnownShapes(meshed(patterns.plate, SIZE), patterns.modes))).patterns()
    assert np.array_equal(kept.modes.fields, patterns.modes.fields)
    hollow = Hollow(np.array([0.18, -0.02]), 40 * MM, 0.3 * MM)
    shares, again = (one.shape_change(RING).shares(hollow) for one in (patterns, kept))
    assert again == pytest.approx(shares, rel=1e-9, abs=1e-12 * np.abs(shares).max())


@pytest.mark.parametrize("index", range(8))
def test_every_modes_own_lines_name_it_even_when_shifted(patterns: PlatePatterns, index: int) -> None:
    match = matched(patterns, index, (3.0, -2.0))
    assert match.best.index == index
    assert match.margin > 0.1
    assert match.best.pair.median <= np.hypot(3.0, 2.0) * MM


def test_lines_of_a_file_are_scored_as_those_of_the_photo(patterns: PlatePatterns, tmp_path: Path) -> None:
    lines = node_lines(patterns.modes, RING)
    write_seen_lines(lines, tmp_path / "lines.csv")
    read = read_seen_lines(tmp_path / "lines.csv")
    assert len(read) == len(lines)
    assert (tmp_path / "lines.csv").read_text().startswith("line,x_mm,y_mm\n1,")
    scores = pattern_scores(patterns.modes, read, patterns.size)
    assert max(scores, key=lambda score: score.score).index == RING
    assert scores[RING].score > 0.99


def test_half_a_pattern_is_enough_where_the_rest_is_hidden(patterns: PlatePatterns) -> None:
    half = shapely.box(0.18, -1, 1, 1)
    clipped = [
        shapely.intersection(shapely.LineString(line), half) for line in node_lines(patterns.modes, RING)
    ]
    parts = [part for part in shapely.get_parts(shapely.union_all(clipped)) if part.length > 5 * MM]
    lines = tuple(shapely.get_coordinates(part) for part in parts)
    scores = pattern_scores(patterns.modes, lines, patterns.size, lambda points: points[:, 0] > 0.18)
    assert max(scores, key=lambda score: score.score).index == RING


def test_what_a_mirrored_photo_would_be_is_said_only_where_the_lines_tell_the_side(
    patterns: PlatePatterns,
) -> None:
    lines = tuple(node_lines(patterns.modes, RING))
    outside = view_of(lines, patterns)
    below = replace(outside.camera, turn=outside.camera.turn @ np.diag([1.0, -1.0, -1.0]))
    moved = tuple(line + np.array([0.0, 12.0]) * MM for line in lines)
    inside = replace(outside, camera=below, lines=moved)
    told = read_against(patterns, (outside, inside), "ring.jpg")
    assert (told.side, told.side_is_read) == ("outside", True)
    assert "If you photographed the inside, the picture is mirrored" in " ".join(pattern_in_words(told))
    for views in (outside,), (outside, replace(inside, lines=lines)):
        assert not read_against(patterns, views, "ring.jpg").side_is_read


def test_a_shifted_pattern_is_said_to_be_shifted_and_where_it_parts(patterns: PlatePatterns) -> None:
    difference = pattern_difference(matched(patterns, RING, (4.0, 3.0)))
    assert difference.shift / MM == pytest.approx([4.0, 3.0], abs=0.6)
    assert len(difference.partings) > 0
    assert all(parting.distance < 6 * MM for parting in difference.partings)
    assert len(difference.missing) == 0


def test_a_pattern_moved_sideways_has_its_middle_there(patterns: PlatePatterns) -> None:
    even = np.column_stack([np.linspace(0.05, 0.3, 120), np.full(120, 0.04)])
    lines = tuple(np.column_stack([even[:, 0], side * even[:, 1] + 5 * MM]) for side in (1, -1))
    view = view_of(lines, patterns)
    difference = pattern_difference(match_pattern(patterns.modes, (view,), patterns.size))
    assert difference.seen_middle / MM == pytest.approx(5.0, abs=0.3)


def test_a_missing_line_is_named(patterns: PlatePatterns) -> None:
    lines = node_lines(patterns.modes, 2)
    match = match_pattern(patterns.modes, (view_of(lines[:1], patterns),), patterns.size, index=2)
    missing = pattern_difference(match).missing
    assert len(missing) >= 1
    others = shapely.MultiLineString([*lines[1:]])
    assert shapely.distance(others, shapely.points(missing[0])) < MM


@pytest.mark.slow
def test_what_was_played_weighs_and_a_contradiction_is_said(patterns: PlatePatterns) -> None:
    lines = node_lines(patterns.modes, RING)
    views = (view_of(lines, patterns),)
    hz = float(patterns.modes.hz[1])
    doubts = " ".join(read_against(patterns, views, "ring.jpg", hz).doubts())
    assert "The lines look more like mode 5" in doubts
    named = read_against(patterns, views, "ring.jpg", index=0)
    assert named.match.best.index == 0
    assert "The lines look more like mode 5" in " ".join(named.doubts())
    assert not [*read_against(patterns, views, "ring.jpg", 1.05 * float(patterns.modes.hz[RING])).doubts()]


def test_lines_of_no_mode_are_refused(patterns: PlatePatterns) -> None:
    turn = np.linspace(0, 6 * np.pi, 300)
    spiral = np.column_stack([0.18 + 0.004 * turn * np.cos(turn), 0.004 * turn * np.sin(turn)])
    with pytest.raises(InputError, match="the lines on it are like no computed mode"):
        read_against(patterns, (view_of((spiral,), patterns),), "spiral.jpg")


@pytest.mark.slow
@pytest.mark.parametrize("place", [(0.085, -0.05), (0.30, 0.0), (0.12, 0.06)])
def test_the_spot_that_is_hinted_at_would_bring_the_lines_together(
    patterns: PlatePatterns, place: tuple[float, float]
) -> None:
    """The true plate is thinner in one place than its map says, where that moves the ring by 1.5 mm or more.

    With the map changed as hinted the lines agree better.
    """
    truth = plate_patterns(thinned(patterns.plate, Hollow(np.array(place), 40 * MM, 0.3 * MM)), SIZE)
    seen = points_along(node_lines(truth.modes, RING))

    def pair(plate: PlatePatterns) -> LinePair:
        computed = points_along(node_lines(plate.modes, RING))
        off = [
            shapely.distance(shapely.MultiPoint(b), shapely.points(a))
            for a, b in ((seen, computed), (computed, seen))
        ]
        return LinePair(seen, computed, np.asarray(off[0]), np.asarray(off[1]))

    before = pair(patterns)
    hint = shape_hint(patterns.plate, patterns.shape_change(RING), before)
    assert hint is not None
    assert 0 < hint.hollow.depth <= 0.3 * MM
    after = pair(plate_patterns(thinned(patterns.plate, hint.hollow), SIZE))
    gain = np.sqrt((after.from_seen**2).mean() / (before.from_seen**2).mean())
    assert gain < 0.7
    assert hint.after / hint.before == pytest.approx(gain, abs=0.2)


def test_nothing_is_hinted_at_where_the_lines_agree(patterns: PlatePatterns) -> None:
    reading: PatternReading = read_against(
        patterns, (view_of(node_lines(patterns.modes, RING), patterns),), "ring.jpg"
    )
    assert reading.hint is None
    assert not reading.difference.partings
