"""The fit of the wood, on tones from another model: 3-D solids by CalculiX."""

import numpy as np
import pytest

from solver.advice.fit_doubts import doubts_in
from solver.advice.fitted_wood import WoodFit
from solver.advice.wood_fit import fit_wood
from solver.plate.species import Constant
from solver.plate.wood_posterior import FITTED
from tests.advice.wood_fits import solid_entry, solid_hz, species_prior
from tests.validation.solid_plates import PLATES

PANEL, SPECIES = "sitka-flat", "Norway spruce"
UNNUMBERED = (None,) * 7
SIZE = 0.04
"""Of the elements [m]: on a flat panel cubic ones of this size are a thousandth off at most."""
TOLD: tuple[Constant, ...] = ("EL", "ER", "GLR")
"""What a flat quartered plate can tell (see the comments on Badiane et al. in the validation)."""


@pytest.fixture(scope="module")
def panel() -> WoodFit:
    """A flat panel of which no more than the species is known, and not even that for sure: the truth is Sitka spruce."""
    entry = solid_entry(PANEL, SPECIES, solid_hz(PANEL)[:7], UNNUMBERED)
    return fit_wood([entry], species_prior(PANEL, SPECIES), None, SIZE)


@pytest.mark.parametrize("constant", TOLD)
def test_constants_of_a_panel_come_back(panel: WoodFit, constant: Constant) -> None:
    truth = getattr(PLATES[PANEL].wood, constant)
    low, high = panel.posterior.interval(constant)
    assert low < truth < high
    assert panel.posterior[constant] == pytest.approx(truth, rel=0.03)
    assert panel.told_by_data[FITTED.index(constant)] > 0.9


def test_a_flat_panel_says_nothing_of_the_wood_in_its_thickness(panel: WoodFit) -> None:
    assert panel.told_by_data[FITTED.index("ET")] < 0.4
    assert panel.posterior["rise"] == 0.0


def test_every_tone_finds_its_mode(panel: WoodFit) -> None:
    assert [tone.pairing.mode for tone in panel.tones] == list(range(7))
    assert max(abs(panel.residual(tone)) for tone in panel.tones) < 0.006
    assert doubts_in(panel) == ()
    assert panel.masses[0].is_used


def test_more_data_never_makes_less_sure(panel: WoodFit) -> None:
    some = solid_entry(PANEL, SPECIES, solid_hz(PANEL)[:3], UNNUMBERED[:3])
    fit = fit_wood([some], species_prior(PANEL, SPECIES), None, SIZE)
    assert np.all(panel.posterior.spreads <= fit.posterior.spreads * (1 + 1e-2) + 1e-12)
    assert np.all(fit.told_by_data <= 1)


def test_a_mass_in_ounces_is_named_and_set_aside() -> None:
    entry = solid_entry(PANEL, SPECIES, solid_hz(PANEL)[:5], UNNUMBERED[:5], mass_share=1 / 28.3495)
    fit = fit_wood([entry], species_prior(PANEL, SPECIES), None, SIZE)
    (doubt,) = doubts_in(fit)
    assert doubt.kind == "mass"
    assert "ounces" in doubt.in_words
    assert not fit.masses[0].is_used
