"""Intervals of the tones by linearisation, against tones solved for sampled woods, arches and calipers."""

from dataclasses import replace

import numpy as np
import pytest

from meshes.graduation import Graduation
from meshes.smooth_map import SmoothMap
from solver.advice.forecast import forecast_tones, tone_keys
from solver.advice.tone_response import MeshedPlate, ToneResponse, meshed, tone_response
from solver.advice.wood_prior import wood_prior
from solver.core.arrays import Floats
from solver.modal.modes import modes_of
from solver.plate.plate import Plate
from solver.plate.plate_doubt import Doubts, doubts_of
from solver.plate.reshaped_arch import ArchForm, with_arch_form
from solver.plate.wood_posterior import FITTED, PARAMETERS, TWO_SIDED_95, WoodPosterior, with_wood
from tests.modal.thinned_plates import SIZE, SPRUCE, arched_with_bar

COUNT = 5
CALIPER = PARAMETERS.index("caliper")


@pytest.fixture(scope="module")
def on() -> MeshedPlate:
    plate = arched_with_bar().plate
    assert plate.bar is not None
    return meshed(replace(plate, bar=replace(plate.bar, wood=replace(SPRUCE, EL=14e9))), SIZE)


@pytest.fixture(scope="module")
def doubts(on: MeshedPlate) -> Doubts:
    return doubts_of(on.plate, "sections")


@pytest.fixture(scope="module")
def response(on: MeshedPlate, doubts: Doubts) -> ToneResponse:
    return tone_response(on, on.plate, doubts, COUNT)


def moved(plate: Plate, theta: Floats) -> Plate:
    """The plate at deviations ``theta`` (q,) of its parameters, every one of them in earnest."""
    named = dict(zip(PARAMETERS, theta.tolist(), strict=True))
    wood = replace(plate.wood, **{c: getattr(plate.wood, c) * float(np.exp(named[c])) for c in FITTED})
    graduation = thicker(plate.graduation, 1e-3 * named["caliper"])
    formed = with_arch_form(plate, ArchForm(*(named[way] for way in ("rise", "across", "along"))))
    return stiffer_bar(replace(with_wood(formed, wood), graduation=graduation), named["bar"])


def thicker(graduation: Graduation, more: float) -> Graduation:
    flat = graduation.thickness
    return Graduation(SmoothMap(flat.x_knots, flat.y_knots, flat.coefficients + more))


def stiffer_bar(plate: Plate, share: float) -> Plate:
    assert plate.bar is not None
    wood = plate.bar.wood
    moduli = {c: getattr(wood, c) * float(np.exp(share)) for c in FITTED[1:]}
    return replace(plate, bar=replace(plate.bar, wood=replace(wood, **moduli)))


@pytest.mark.parametrize("parameter", PARAMETERS)
def test_slopes_are_those_of_full_solves(on: MeshedPlate, response: ToneResponse, parameter: str) -> None:
    step = 0.004 * (np.array(PARAMETERS) == parameter)
    high, low = (modes_of(on.model(moved(on.plate, way * step)), COUNT) for way in (1, -1))
    expected = np.log(high.hz / low.hz) / 0.008
    slopes = response.slopes[:, PARAMETERS.index(parameter)]
    assert slopes == pytest.approx(expected, abs=2e-3)
    by_mass = np.log(high.mass / low.mass) / 0.008
    assert response.mass_slopes[PARAMETERS.index(parameter)] == pytest.approx(by_mass, abs=0.04)


def posterior_of(on: MeshedPlate, response: ToneResponse, spread: Floats) -> WoodPosterior:
    """A belief around the plate itself; what its tones are off by is known to a thousandth."""
    q = len(PARAMETERS)
    covariance = np.zeros((q + COUNT, q + COUNT))
    covariance[:q, :q] = spread
    covariance[q:, q:] = 1e-6 * np.eye(COUNT)
    values = [getattr(on.plate.wood, c) for c in FITTED] + [0.0] * (q - len(FITTED))
    return WoodPosterior(np.array(values), tone_keys(response.modes), np.zeros(COUNT), covariance)


@pytest.mark.slow
def test_intervals_hold_as_many_sampled_plates_as_they_say(
    on: MeshedPlate, response: ToneResponse, doubts: Doubts
) -> None:
    """200 plates with wood, arch, caliper and bar drawn from a belief half as wide as that in a species."""
    spread = np.zeros((len(PARAMETERS), len(PARAMETERS)))
    spread[: len(FITTED), : len(FITTED)] = 0.25 * wood_prior(on.plate.wood, False).covariance
    for name in ("rise", "across", "along", "bar"):
        spread[PARAMETERS.index(name), PARAMETERS.index(name)] = getattr(doubts, name) ** 2
    spread[CALIPER, CALIPER] = (1e3 * doubts.caliper) ** 2
    forecast = forecast_tones(posterior_of(on, response, spread), response)
    rng = np.random.default_rng(4)
    drawn = rng.multivariate_normal(np.zeros(len(PARAMETERS)), spread, 200)
    hz = np.array([modes_of(on.model(moved(on.plate, theta)), COUNT).hz for theta in drawn])
    assert np.std(np.log(hz), axis=0) == pytest.approx(forecast.spread, rel=0.15)
    inside = ((forecast.low < hz) & (hz < forecast.high)).mean(axis=0)
    assert np.all((inside > 0.90) & (inside < 0.99))


def test_what_is_known_of_a_tone_moves_its_forecast(on: MeshedPlate, response: ToneResponse) -> None:
    q = len(PARAMETERS)
    belief = posterior_of(on, response, 1e-6 * np.eye(q))
    offsets = np.array([0.01, 0.0, 0.0, -0.02, 0.0])
    caliper = 0.02 * (np.arange(q) == CALIPER)
    forecast = forecast_tones(replace(belief, offsets=offsets, values=belief.values + caliper), response)
    assert forecast.hz == pytest.approx(response.modes.hz)
    shift = np.log(forecast.expected / forecast.hz)
    assert shift == pytest.approx(offsets + 0.02 * response.slopes[:, CALIPER])
    assert np.log(forecast.high / forecast.low) == pytest.approx(2 * TWO_SIDED_95 * forecast.spread)


def test_a_tone_of_which_nothing_is_known_has_all_that_the_model_leaves_open(
    on: MeshedPlate, response: ToneResponse
) -> None:
    q = len(PARAMETERS)
    unknown = WoodPosterior(posterior_of(on, response, np.eye(q)).values, (), np.zeros(0), 1e-12 * np.eye(q))
    assert forecast_tones(unknown, response).spread == pytest.approx(
        np.sqrt(np.diag(response.own_covariance)), rel=1e-3
    )


def test_applied_wood_is_that_of_the_belief(on: MeshedPlate, response: ToneResponse) -> None:
    """The bar is of another wood and keeps it."""
    belief = posterior_of(on, response, np.eye(len(PARAMETERS)))
    plate = replace(belief, values=belief.values * 1.1).applied(on.plate)
    assert plate.bar is not None
    assert on.plate.bar is not None
    assert pytest.approx(1.1 * SPRUCE.EL) == plate.wood.EL
    assert plate.bar.wood == on.plate.bar.wood
    low, high = belief.interval("EL")
    assert low * high == pytest.approx(SPRUCE.EL**2)
