"""Sound holes as they are cut, of changing width with two round eyes, against 3-D solids by CalculiX."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from solver.core.arrays import Floats
from solver.core.units import MM
from solver.modal.modes import solve_modes
from tests.trials.hole_shapes import s_hole
from tests.validation.make_references import Division, solve
from tests.validation.shell_plate import as_plate
from tests.validation.solid import ccx
from tests.validation.solid.curves import smooth_loop
from tests.validation.solid_plates import VIOLIN_TOP

WITHIN, MODES = 0.005, 8
BASS = np.array([200.0, 26.0]), np.array([145.0, 50.0])
"""Upper and lower eye [mm]."""
SPACING = 1.5
"""Between the points [mm] by which both programs know the hole."""


def _traced(seed: int) -> Floats:
    """The points (n, 2) [m] along a hole at random, its tips rounded by 0.6 mm as a knife leaves them."""
    hole = s_hole(*BASS, 1.0, np.random.default_rng([18, seed])).buffer(0.6).buffer(-1.2).buffer(0.6)
    count = round(hole.exterior.length / SPACING)
    places = shapely.line_interpolate_point(hole.exterior, np.arange(count) / count, normalized=True)
    return MM * shapely.get_coordinates(places)


@pytest.mark.slow
@pytest.mark.calculix
@pytest.mark.skipif(
    not ccx.installed(), reason="CalculiX is not installed: its program ccx is not on the path"
)
@pytest.mark.parametrize("seed", [0, 1])
def test_first_eight_modes_of_a_top_with_cut_holes(seed: int) -> None:
    bass = _traced(seed)
    holes = smooth_loop(bass), smooth_loop((bass * [1.0, -1.0])[::-1])
    plate = replace(VIOLIN_TOP, name=f"cut holes {seed}", holes=holes)
    solid = np.array(solve(plate, Division(8.0, 2))["hz"])[:MODES]
    assert solve_modes(as_plate(plate), MODES).hz == pytest.approx(solid, rel=WITHIN)
