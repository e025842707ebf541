"""How sure a change by carving is: by linearisation, against sampled woods, arches and calipers solved in full."""

from dataclasses import replace

import numpy as np
import pytest

from meshes.removal import Hollow
from solver.advice.fitted_tones import (
    CHANGE_THEORY,
    MASS,
    FittedBelief,
    FittedChange,
    FittedTones,
    change_between,
    corrected,
    solve_fitted,
)
from solver.advice.forecast import tone_keys
from solver.advice.tone_response import MeshedPlate, meshed, tone_response
from solver.advice.wood_prior import wood_prior
from solver.core.arrays import Floats
from solver.modal.modes import modes_of
from solver.plate.plate_doubt import Doubts, doubts_of
from solver.plate.thinning import thinned
from solver.plate.wood_posterior import FITTED, PARAMETERS, WoodPosterior
from tests.advice.test_forecast import COUNT, moved
from tests.modal.thinned_plates import SIZE, arched_with_bar

HOLLOW = Hollow(np.array([-0.03, -0.03]), 0.04, 0.3e-3)
Q = len(PARAMETERS)


pytestmark = pytest.mark.xdist_group("fitted_tones")  # one worker, so that what they share is made once


@pytest.fixture(scope="module")
def on() -> MeshedPlate:
    return meshed(arched_with_bar().plate, SIZE)


@pytest.fixture(scope="module")
def doubts(on: MeshedPlate) -> Doubts:
    return doubts_of(on.plate, "sections")


@pytest.fixture(scope="module")
def spread(on: MeshedPlate, doubts: Doubts) -> Floats:
    """A covariance (q, q) of the parameters as a fit leaves it: five tones and the mass are known within 0.6 %."""
    before = np.zeros((Q, Q))
    before[: len(FITTED), : len(FITTED)] = wood_prior(on.plate.wood, False).covariance
    for name in ("rise", "across", "along", "bar"):
        before[PARAMETERS.index(name), PARAMETERS.index(name)] = getattr(doubts, name) ** 2
    before[PARAMETERS.index("caliper"), PARAMETERS.index("caliper")] = (1e3 * doubts.caliper) ** 2
    response = tone_response(on, on.plate, doubts, COUNT)
    seen = np.vstack([response.slopes, response.mass_slopes])
    noise = 0.006**2 * np.eye(len(seen))
    gain = before @ seen.T @ np.linalg.inv(seen @ before @ seen.T + noise)
    return np.asarray(before - gain @ seen @ before)


@pytest.fixture(scope="module")
def belief(on: MeshedPlate, doubts: Doubts, spread: Floats) -> FittedBelief:
    keys = tone_keys(modes_of(on.model(on.plate), COUNT))
    covariance = np.zeros((Q + COUNT, Q + COUNT))
    covariance[:Q, :Q] = spread
    covariance[Q:, Q:] = 1e-6 * np.eye(COUNT)
    values = np.array([getattr(on.plate.wood, c) for c in FITTED] + [0.0] * (Q - len(FITTED)))
    return FittedBelief(WoodPosterior(values, keys, np.linspace(-0.01, 0.01, COUNT), covariance), doubts)


def tones(on: MeshedPlate, belief: FittedBelief, carved: bool) -> FittedTones:
    model = on.model(thinned(on.plate, HOLLOW) if carved else on.plate)
    return belief.tones(on, model, modes_of(model, COUNT))


@pytest.fixture(scope="module")
def change(on: MeshedPlate, belief: FittedBelief) -> FittedChange:
    return change_between(tones(on, belief, False), tones(on, belief, True))


def sampled_changes(on: MeshedPlate, spread: Floats, count: int) -> tuple[Floats, Floats]:
    """Deviations (n, q) of the parameters, drawn, and the change (n, k) of ``ln f`` by the hollow with each."""
    drawn = np.random.default_rng(7).multivariate_normal(np.zeros(Q), spread, count)
    ratios = []
    for theta in drawn:
        plate = moved(on.plate, theta)
        one, other = (modes_of(on.model(p), COUNT).hz for p in (plate, thinned(plate, HOLLOW)))
        ratios.append(np.log(other / one))
    return drawn, np.array(ratios)


def test_change_is_far_surer_than_the_tones(change: FittedChange) -> None:
    assert np.all(change.spread < 0.12 * change.before.forecast.spread)
    assert np.all(change.low < change.hz)
    assert np.all(change.hz < change.high)
    assert np.abs(change.log_ratio).max() > 0.003


@pytest.mark.slow
def test_change_goes_with_the_parameters_as_its_slopes_say(
    on: MeshedPlate, spread: Floats, change: FittedChange
) -> None:
    drawn, ratios = sampled_changes(on, spread, 6)
    slopes = change.after.response.slopes - change.before.response.slopes
    off = ratios - change.log_ratio - drawn @ slopes.T
    # the first order leaves out less than the computation itself may be off by, twice that where two tones mix
    assert np.all(np.sqrt(np.mean(off**2, axis=0)) < 2 * CHANGE_THEORY * np.abs(change.log_ratio))
    assert np.sqrt(np.mean(off[:, 0] ** 2)) < 0.2 * np.std(ratios[:, 0])


@pytest.mark.slow
def test_change_interval_holds_as_many_sampled_plates_as_it_says(
    on: MeshedPlate, spread: Floats, change: FittedChange
) -> None:
    """60 plates drawn from the belief; other sources than the parameters only widen the interval."""
    _, ratios = sampled_changes(on, spread, 60)
    inside = np.abs(ratios - change.log_ratio) < 1.96 * change.spread
    assert inside.mean(axis=0).min() > 0.9


def test_expected_tones_are_the_models_with_what_it_is_off_by(on: MeshedPlate, belief: FittedBelief) -> None:
    found = tones(on, belief, False)
    modes = corrected(found.response.modes, found.factors)
    assert np.log(modes.hz / found.response.modes.hz) == pytest.approx(belief.posterior.offsets)
    bands = found.bands
    for key, hz in zip(tone_keys(modes), modes.hz, strict=True):
        low, high = bands[key]
        assert low < hz < high
    assert bands[MASS][0] < modes.mass < bands[MASS][1]


def test_solving_gives_the_same_as_its_steps(on: MeshedPlate, belief: FittedBelief) -> None:
    modes, found = solve_fitted(on.plate, belief, 3)
    assert modes.hz == pytest.approx(found.forecast.expected)
    assert modes.hz == pytest.approx(tones(on, belief, False).forecast.expected[:3], rel=2e-3)
    assert set(modes.seconds) == {"mesh", "assemble", "solve", "intervals"}


def test_a_heavier_caliper_makes_the_expected_mass_larger(on: MeshedPlate, belief: FittedBelief) -> None:
    values = belief.posterior.values + 0.02 * (np.arange(Q) == PARAMETERS.index("caliper"))
    thicker = FittedBelief(replace(belief.posterior, values=values), belief.doubts)
    thin, thick = (tones(on, which, False).factors[MASS] for which in (belief, thicker))
    assert 0.003 < thick / thin - 1 < 0.015
