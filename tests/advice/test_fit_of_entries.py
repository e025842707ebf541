"""The fit over several entries of a log: another thickness, another room, and a plate that does not go with the rest."""

from dataclasses import replace

import numpy as np
import pytest

from meshes.graduation import uniform_graduation
from solver.advice.climate_shift import weather_of
from solver.advice.fit_doubts import doubts_in
from solver.advice.fit_entry import FitEntry
from solver.advice.fitted_wood import WoodFit
from solver.advice.forecast import forecast_tones
from solver.advice.tone_response import meshed, tone_response
from solver.advice.wood_fit import fit_wood
from solver.advice.wood_prior import WoodPrior, wood_prior
from solver.plate.climate import Climate, Condition, mass_factor, settled_in
from solver.plate.parts import without
from solver.plate.plate import Plate
from solver.plate.plate_doubt import doubts_of
from solver.plate.species import find_species, wood_of
from solver.plate.wood import Wood
from solver.plate.wood_posterior import FITTED, with_wood
from tests.validation.shell_plate import as_plate
from tests.validation.solid_plates import SPRUCE, VIOLIN_TOP

SIZE = 0.05
NUMBERS = ("1", "2", "5")
TRUTH = replace(SPRUCE, species="Norway spruce")
ROOM = settled_in(Climate(20.0, 50.0))


def norway() -> WoodPrior:
    return wood_prior(wood_of(find_species("Norway spruce", "wood"), {}, "wood"), False)


def top(thickness_mm: float) -> Plate:
    """A top without holes, equally thick all over, of the wood believed in."""
    plate = without(as_plate(VIOLIN_TOP), ["holes"])
    return with_wood(replace(plate, graduation=uniform_graduation(1e-3 * thickness_mm)), norway().wood)


def entry(
    name: str, plate: Plate, truth: Wood, condition: Condition | None = None, share: float = 1.0
) -> FitEntry:
    """What is heard and weighed of a plate of the true wood in a room, all tones times a share."""
    true = with_wood(plate, truth)
    on, doubts = meshed(true, SIZE), doubts_of(plate, "sections")
    response = tone_response(on, true, doubts)
    shift, heavier = np.zeros(8), 1.0
    if condition is not None:
        weather = weather_of(true, on.mesh, response.modes, response.wood)
        shift, heavier = weather.shift(ROOM, condition).mean(axis=1), mass_factor(ROOM, condition)
    named = dict(zip(response.modes.names, response.modes.hz * np.exp(shift) * share, strict=True))
    rooms = None if condition is None else (condition, condition)
    hz = {number: float(named[number]) for number in NUMBERS}
    return FitEntry(name, plate, doubts, hz, (), response.modes.mass * heavier, rooms)


@pytest.fixture(scope="module")
def thick() -> FitEntry:
    return entry("thick", top(3.4), TRUTH)


@pytest.fixture(scope="module")
def first(thick: FitEntry) -> WoodFit:
    return fit_wood([thick], norway(), None, SIZE)


def test_what_one_state_told_holds_for_the_next(first: WoodFit) -> None:
    """The thinned plate's tones, foretold before it is thinned, lie in their intervals, which are narrow."""
    thin = entry("thin", top(2.6), TRUTH)
    found = first.posterior.applied(top(2.6))
    forecast = forecast_tones(first.posterior, tone_response(meshed(found, SIZE), found, thin.doubts))
    for number, hz in thin.numbered.items():
        place = first.posterior.tones.index(number)
        assert forecast.low[place] < hz < forecast.high[place]
        assert forecast.high[place] / forecast.low[place] < 1.08


def test_every_entry_sharpens_the_wood(thick: FitEntry, first: WoodFit) -> None:
    both = fit_wood([thick, entry("thin", top(2.6), TRUTH)], norway(), None, SIZE)
    wood = slice(len(FITTED))
    assert np.all(both.posterior.spreads[wood] < first.posterior.spreads[wood] * 1.02)
    assert both.posterior.spreads[FITTED.index("GLR")] < 0.97 * first.posterior.spreads[FITTED.index("GLR")]
    # mode 5 does lie close to another in this wood, and is said to
    assert {doubt.kind for doubt in doubts_in(both)} <= {"close"}
    assert len(both.drifts) == 2


def test_a_damp_entry_is_brought_to_the_room(thick: FitEntry, first: WoodFit) -> None:
    """Heard at 80 % humidity the tones are 3 % lower; the wood that is found is that of the room."""
    damp = entry("damp", thick.plate, TRUTH, settled_in(Climate(20.0, 80.0)))
    assert damp.numbered["5"] < 0.98 * thick.numbered["5"]
    fit = fit_wood([damp], norway(), ROOM, SIZE)
    assert fit.posterior.values[: len(FITTED)] == pytest.approx(
        first.posterior.values[: len(FITTED)], rel=0.04
    )
    assert fit.posterior["density"] == pytest.approx(first.posterior["density"], rel=0.005)
    assert fit.posterior.spreads[FITTED.index("GLR")] > first.posterior.spreads[FITTED.index("GLR")]


def test_a_drift_that_no_wood_explains_is_said(thick: FitEntry) -> None:
    """The second entry's tones all lie 5 % low, as where the thickness of another day was noted for it."""
    low = entry("later", top(2.6), TRUTH, share=0.95)
    doubts = doubts_in(fit_wood([thick, low], norway(), None, SIZE))
    (drift,) = [doubt for doubt in doubts if doubt.kind == "drift"]
    assert drift.entry in ("thick", "later")
    assert "No one wood explains both" in drift.in_words
