"""Close tones that wood askew drives apart: against plates of such wood solved in full, and in a fit to three tones."""

from dataclasses import replace

import numpy as np
import pytest

from meshes.graduation import uniform_graduation
from solver.advice.askew_wood import Couplings, askew_factors, couplings
from solver.advice.fit_doubts import doubts_in
from solver.advice.fit_entry import FitEntry
from solver.advice.fitted_wood import WoodFit
from solver.advice.tone_response import MeshedPlate, meshed
from solver.advice.wood_fit import fit_wood
from solver.advice.wood_prior import wood_prior
from solver.core.arrays import Floats
from solver.modal.modes import modes_of
from solver.modal.wood_sensitivity import wood_sensitivity
from solver.plate.parts import without
from solver.plate.plate import Plate
from solver.plate.plate_doubt import doubts_of
from solver.plate.species import find_species, wood_of
from solver.plate.wood import Wood
from solver.plate.wood_posterior import with_wood
from tests.followed_plate import TRUE_WOOD
from tests.validation.shell_plate import as_plate
from tests.validation.solid_plates import VIOLIN_TOP

SIZE = 0.05
COUNT = 8
NORWAY = wood_of(find_species("Norway spruce", "wood"), {}, "wood")
GRAIN, RINGS = TRUE_WOOD.grain, TRUE_WOOD.ring
PAIR = slice(4, 6)
"""Mode 5 and the tone beside it, which are half a per cent apart in quartered wood of the table."""


def hollowed() -> Plate:
    """A top without holes, 4 mm thick."""
    plate = without(as_plate(VIOLIN_TOP), ["holes"])
    return with_wood(replace(plate, graduation=uniform_graduation(4e-3)), NORWAY)


@pytest.fixture(scope="module")
def on() -> MeshedPlate:
    return meshed(hollowed(), SIZE)


@pytest.fixture(scope="module")
def coupled(on: MeshedPlate) -> Couplings:
    model = on.model(on.plate)
    modes = modes_of(model, COUNT)
    return couplings(wood_sensitivity(model, modes), modes)


def gap(values: Floats) -> float:
    """By how much ``ln f`` of the pair differs."""
    low, high = 0.5 * np.log(values[PAIR])
    return float(high - low)


@pytest.mark.parametrize(("grain", "rings"), [(0.0, RINGS), (GRAIN, RINGS), (0.0, -RINGS)])
def test_wood_askew_parts_a_close_pair_as_its_couplings_say(
    on: MeshedPlate, coupled: Couplings, grain: float, rings: float
) -> None:
    askew = replace(NORWAY, grain=grain, ring=rings)
    solved = modes_of(on.model(with_wood(on.plate, askew)), COUNT).hz ** 2
    assert gap(solved) > 4 * gap(coupled.values)
    assert gap(coupled.askew(grain, rings)[0]) == pytest.approx(gap(solved), rel=0.15)


def test_straight_wood_moves_nothing(on: MeshedPlate, coupled: Couplings) -> None:
    values, shapes = coupled.askew(0.0, 0.0)
    assert values == pytest.approx(coupled.values)
    assert shapes**2 == pytest.approx(np.eye(COUNT))
    straight = replace(doubts_of(on.plate, "sections"), grain=0.0, rings=0.0)
    assert askew_factors(coupled, straight) == pytest.approx(np.zeros((COUNT, 4)), abs=1e-12)


def test_only_close_tones_are_open(on: MeshedPlate, coupled: Couplings) -> None:
    factors = askew_factors(coupled, doubts_of(on.plate, "sections"))
    low, high = factors[PAIR, 0]
    assert low < 0
    assert high > 0
    opened = np.linalg.norm(factors, axis=1)
    assert opened[PAIR].min() > 0.015
    assert opened[:4].max() < 0.02


def fitted(on: MeshedPlate, believed: Wood) -> WoodFit:
    """The fit to modes 1, 2 and 5 and the mass of a plate whose wood is askew."""
    doubts = doubts_of(on.plate, "sections")
    modes = modes_of(on.model(with_wood(on.plate, TRUE_WOOD)), COUNT)
    named = dict(zip(modes.names, modes.hz, strict=True))
    numbered = {number: float(named[number]) for number in ("1", "2", "5")}
    entry = FitEntry("hollowed.toml", with_wood(on.plate, believed), doubts, numbered, (), modes.mass, None)
    return fit_wood([entry], wood_prior(believed, True), None, SIZE)


@pytest.fixture(scope="module")
def fit(on: MeshedPlate) -> WoodFit:
    """The fit where nobody wrote down how the wood lies."""
    return fitted(on, NORWAY)


def test_a_close_mode_does_not_lead_astray_what_is_said_of_the_wood(fit: WoodFit) -> None:
    low, high = fit.posterior.interval("EL")
    assert low < TRUE_WOOD.EL < high
    assert fit.posterior["EL"] == pytest.approx(TRUE_WOOD.EL, rel=0.25)


def test_a_close_mode_is_named(fit: WoodFit) -> None:
    (doubt,) = [doubt for doubt in doubts_in(fit) if doubt.kind == "close"]
    assert doubt.mode == "5"
    assert "ring_deg" in doubt.in_words


def test_stated_angles_are_what_the_fit_goes_out_from(on: MeshedPlate, fit: WoodFit) -> None:
    """Grain and rings written down as they are: EL comes back nearer to the truth."""
    stated = fitted(on, replace(NORWAY, grain=GRAIN, ring=RINGS))
    low, high = stated.posterior.interval("EL")
    assert low < TRUE_WOOD.EL < high
    assert abs(stated.posterior["EL"] - TRUE_WOOD.EL) < 0.5 * abs(fit.posterior["EL"] - TRUE_WOOD.EL)
