"""The stock plates' sound holes: round eyes of stated size, wood left everywhere, a stem that changes in width."""

import numpy as np
import pytest
import shapely

from meshes.outline import make_outline
from meshes.stock_holes import stock_holes
from meshes.stock_outline import stock_outline
from solver.core.units import MM

SIZES = {
    "violin": (355, 206),
    "viola": (410, 243),
    "cello": (755, 440),
    "smallest": (177, 103),
    "largest": (1000, 583),
}
EYES_MM = {"violin": (6.8, 8.4), "viola": (7.5, 9.3), "cello": (11.5, 14.2)}


def _shape(length_mm: float, width_mm: float) -> shapely.Polygon:
    return shapely.Polygon(stock_holes(length_mm * MM, width_mm * MM)[0].sampled(0.1 * MM))


@pytest.mark.parametrize("size", EYES_MM)
def test_eyes_are_round_and_of_the_stated_size(size: str) -> None:
    """A disc as large as the eye fits into the hole, once at either end, and one 4 % larger nowhere."""
    hole = _shape(*SIZES[size])
    for diameter, upper in zip(EYES_MM[size], (True, False), strict=True):
        length = hole.bounds[2] - hole.bounds[0]
        end = hole.bounds[2] - 0.25 * length if upper else hole.bounds[0] + 0.25 * length
        x = (end, hole.bounds[2]) if upper else (hole.bounds[0], end)
        part = hole.intersection(shapely.box(x[0], hole.bounds[1], x[1], hole.bounds[3]))
        assert not part.buffer(-0.49 * diameter * MM).is_empty
        assert part.buffer(-0.52 * diameter * MM).is_empty


@pytest.mark.parametrize("size", SIZES)
def test_wood_is_left_beside_and_between_the_holes(size: str) -> None:
    length, width = (value * MM for value in SIZES[size])
    holes = stock_holes(length, width)
    outline = make_outline(stock_outline(length, width).edge, holes)
    bass, treble = (shapely.Polygon(hole.sampled(0.2 * MM)) for hole in outline.holes)
    assert bass.distance(treble) > 0.1 * length
    assert bass.distance(outline.polygon.exterior) > 0.03 * length
    np.testing.assert_allclose(bass.area, treble.area)


def test_stem_changes_in_width_and_is_widest_in_the_middle() -> None:
    hole = _shape(*SIZES["violin"])
    x = np.array([183.0, 172.0, 152.0, 138.0]) * MM
    lines = shapely.linestrings([[[place, 0.0], [place, 0.1]] for place in x])
    widths = shapely.length(shapely.intersection(lines, hole))
    assert widths[[0, -1]].max() < widths[[1, 2]].min()
