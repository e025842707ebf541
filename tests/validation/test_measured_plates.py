"""Plates of spruce that were really measured: the fit beside the published one.

Three flat plates of Badiane et al., J. Acoust. Soc. Am. 153 (2023) 730, doi 10.1121/10.0020559 (their plates 5R, 4L, 2L):
size, density and peaks as printed there, in Hz; nothing else of them is used.
"""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from meshes.arch import flat_arch
from meshes.edge import Edge
from meshes.graduation import uniform_graduation
from meshes.outline import make_outline
from solver.advice.fit_entry import FitEntry
from solver.advice.fitted_wood import WoodFit
from solver.advice.wood_fit import fit_wood
from solver.advice.wood_prior import wood_prior
from solver.core.units import GPA, MM
from solver.plate.plate import Plate
from solver.plate.plate_doubt import doubts_of
from solver.plate.species import Constant, find_species, wood_of

DEVIATION: dict[Constant, float] = {"EL": 0.03, "ER": 0.03, "GLR": 0.05}
"""Standard deviations of the published constants: 2 to 4, 2 to 4 and 2 to 8 %; the middle of each."""


@dataclass(frozen=True)
class Measured:
    """A plate as it was measured: sizes [mm], density [kg/m3], peaks [Hz]; the constants published for it [GPa], and how
    many tones the fit can use and their mean residual [%] at most."""

    length: float
    width: float
    thickness: float
    density: float
    hz: tuple[float, ...]
    published: dict[Constant, float]
    used: int
    residual_pct: float


PLATES = {
    "5R": Measured(
        581,
        217,
        5.0,
        416,
        (56.5, 77.5, 138, 163.5, 197.5, 216.5, 272.5, 292.5, 412, 429.5),
        {"EL": 10.8, "ER": 0.970, "GLR": 0.794},
        10,
        0.6,
    ),
    "4L": Measured(
        576,
        216,
        4.6,
        397,
        (54, 79.5, 135.5, 159.5, 196, 215, 267.5, 285, 404.5, 417.5),
        {"EL": 11.9, "ER": 1.01, "GLR": 0.816},
        8,
        1.1,
    ),
    "2L": Measured(
        580,
        217,
        4.9,
        416,
        (51.5, 76, 127.5, 163, 190.5, 208.5, 255.5, 277.5, 403.5),
        {"EL": 10.7, "ER": 0.976, "GLR": 0.682},
        8,
        1.9,
    ),
}


@pytest.fixture(scope="module", params=PLATES)
def case(request: pytest.FixtureRequest) -> tuple[Measured, WoodFit]:
    seen = PLATES[request.param]
    wood = replace(wood_of(find_species("Norway spruce", "wood"), {}, "wood"), density=seen.density)
    half = seen.width * MM / 2
    length = seen.length * MM
    corners = np.array([[0.0, -half], [length, -half], [length, half], [0.0, half]])
    outline = make_outline(Edge(corners, np.arange(4), "outline"))
    plate = Plate(request.param, "panel", outline, flat_arch(), uniform_graduation(seen.thickness * MM), wood)
    mass = seen.density * outline.area * seen.thickness * MM
    entry = FitEntry("measured", plate, doubts_of(plate, "flat"), {}, seen.hz, mass, None)
    return seen, fit_wood([entry], wood_prior(wood, True), None)


@pytest.mark.slow
def test_tones_lie_as_near_as_in_the_published_fit(case: tuple[Measured, WoodFit]) -> None:
    """Mean residual over the tones that are surely one mode each.

    Of 4L the two highest peaks, and of 2L the highest, are set aside: the model has two modes within 2 Hz of each other
    there, and the tone could be either. With both of 4L taken in order its mean residual would be 1.4 %, and 1.2 % at the
    least for any constants. The published fit went by shapes too, which a list of peaks has not.
    """
    seen, fit = case
    used = [tone for tone in fit.tones if tone.is_used]
    modes = [tone.pairing.mode for tone in used]
    assert len(set(modes)) == len(modes) >= seen.used
    assert modes == sorted(modes, key=lambda mode: -1 if mode is None else mode)
    assert 100 * np.mean([abs(fit.residual(tone)) for tone in used]) <= seen.residual_pct


@pytest.mark.slow
def test_constants_are_within_three_standard_deviations(case: tuple[Measured, WoodFit]) -> None:
    """They differ by up to 3 %: ours are drawn by 1 % to the table's softer spruce, and leave room for the caliper."""
    seen, fit = case
    for constant, published in seen.published.items():
        off = float(np.log(fit.posterior[constant] / (published * GPA)))
        own = float(np.log(fit.posterior.interval(constant)[1] / fit.posterior[constant])) / 1.96
        assert abs(off) < 3 * np.hypot(DEVIATION[constant], own)
        assert abs(off) < 0.05
