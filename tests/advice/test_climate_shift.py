"""The weather's shift of the tones, against solving the swollen and softened plate afresh, and against experience."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meshes.arch import arch_from_function, flat_arch
from meshes.graduation import uniform_graduation
from meshes.outline import edge_through, make_outline
from solver.advice.climate_shift import WeatherResponse, weather_response
from solver.core.arrays import Floats
from solver.modal.modes import solve_modes
from solver.plate.climate import Climate, Condition, settled_in, swollen_by
from solver.plate.plate import Plate
from solver.plate.species import find_species, wood_of
from solver.plate.swollen import swollen_plate
from tests.plate.wood_elsewhere import wood_at

TONES = 5
"""Of the flat board; the next two lie so near each other that softer wood makes them change places."""
ROOM, DAMP = Climate(20, 50), Climate(20, 75)
climates = st.builds(Climate, st.floats(-10, 50), st.floats(5, 95))


def board(species: str = "Norway spruce", arched: bool = False) -> Plate:
    """A rectangle 360 x 150 x 3 mm, flat or arched by 12 mm."""
    corners = np.array([[0.0, -0.075], [0.36, -0.075], [0.36, 0.075], [0.0, 0.075]])
    outline = make_outline(edge_through(corners, "outline", range(4)))

    def dome(points: Floats) -> Floats:
        return np.asarray(0.012 * np.sin(np.pi * points[:, 0] / 0.36) * np.cos(np.pi * points[:, 1] / 0.15))

    arch = arch_from_function(dome, (0.0, -0.08, 0.37, 0.08)) if arched else flat_arch()
    wood = wood_of(find_species(species, "x"), {}, "x")
    return Plate("Board", "panel", outline, arch, uniform_graduation(0.003), wood)


@lru_cache
def response(species: str = "Norway spruce", arched: bool = False) -> WeatherResponse:
    return weather_response(board(species, arched), TONES)


def solved_afresh(plate: Plate, start: Condition, end: Condition, bound: int) -> Floats:
    """Tones of the plate that is swollen, heavier and softer or stiffer, without any linearising."""
    swollen = swollen_plate(plate, swollen_by(plate.wood, end.moisture_pct - start.moisture_pct))
    return solve_modes(replace(swollen, wood=wood_at(plate.wood, start, end, bound)), TONES).hz


@pytest.mark.parametrize("arched", [False, True])
@pytest.mark.parametrize(("end", "bound"), [(DAMP, 0), (DAMP, 1), (Climate(30, 35), 0)])
def test_band_is_that_of_plates_solved_afresh(arched: bool, end: Climate, bound: int) -> None:
    told = response("Norway spruce", arched)
    start, there = settled_in(ROOM), settled_in(end)
    shift = told.shift(start, there)[:, bound]
    afresh = np.log(solved_afresh(told.plate, start, there, bound) / told.modes.hz)
    assert shift == pytest.approx(afresh, rel=0.03, abs=3e-4)


@pytest.mark.parametrize("species", ["Norway spruce", "sugar maple"])
def test_damp_lowers_every_tone_and_dry_raises_it(species: str) -> None:
    # Damp weather lowers every tap tone and dry weather brings it back (common practice, no source).
    told = response(species)
    assert (told.shift(settled_in(ROOM), settled_in(DAMP)) < 0).all()
    assert (told.shift(settled_in(ROOM), settled_in(Climate(20, 30))) > 0).all()


def test_tones_fall_with_every_step_of_humidity() -> None:
    told, start = response(), settled_in(ROOM)
    shifts = np.array([told.shift(start, settled_in(Climate(20, h))) for h in range(5, 96, 10)])
    assert (np.diff(shifts, axis=0) < 0).all()


@given(climates)
def test_the_same_climate_shifts_nothing(climate: Climate) -> None:
    there = settled_in(climate)
    assert np.abs(response().shift(there, there)).max() == 0


@given(climates, climates)
@settings(deadline=None)
def test_there_and_back_is_the_identity(one: Climate, other: Climate) -> None:
    a, b = settled_in(one), settled_in(other)
    assert response().shift(a, b) == pytest.approx(-response().shift(b, a)[:, ::-1], abs=1e-12)


def test_the_published_change_per_cent_of_moisture_lies_in_the_band() -> None:
    """0.65 % less speed of sound per 1 % moisture, Scots pine (Montero et al., Maderas 17(2) (2015) 407, printed abstract).

    It was measured with sound along the grain: of the board's tones the one that bends it along the grain goes with it.
    """
    told = response()
    along = int(told.stiffness[:, 0].argmax())
    assert told.stiffness[along, 0] > 0.45
    low, high = told.shift(Condition(11.5, 20), Condition(12.5, 20))[along]
    assert low < np.log(1 - 0.0065) < high


def test_an_arched_plate_has_the_published_change_in_the_band_of_every_tone() -> None:
    told = response("Norway spruce", arched=True)
    band = told.shift(Condition(11.5, 20), Condition(12.5, 20))
    assert ((band[:, 0] < -0.0065) & (band[:, 1] > -0.0065)).all()


def test_all_moduli_together_move_a_tone_by_half_their_change() -> None:
    """The share of the shear moduli, which follows from the others, against shear moduli that are really changed."""
    told, step = response(), 0.01
    wood = told.plate.wood
    stiffer = {name: getattr(wood, name) * np.exp(step) for name in ("GLR", "GLT", "GRT")}
    afresh = solve_modes(replace(told.plate, wood=replace(wood, **stiffer)), TONES).hz
    assert told.stiffness[:, 2] == pytest.approx(np.log(afresh / told.modes.hz) / step, abs=2e-3)


def test_swelling_of_a_thin_board_is_that_of_its_thickness_width_and_volume() -> None:
    """Bending along the grain goes with ``h / L^2 sqrt(E/density)``: thickness by T, density by the volume (R and T)."""
    told = response()
    along = int(told.stiffness[:, 0].argmax())
    R, T = 0.00148, 0.00263  # Wood Handbook Table 13-5 (transcribed), Sitka spruce standing for Norway spruce
    assert told.size[along] == pytest.approx(T + 0.5 * (R + T), rel=0.02)


def test_a_mode_that_is_not_shown_has_the_band_of_all() -> None:
    told = response()
    band = told.shift(settled_in(ROOM), settled_in(DAMP))
    unknown = told.shift_of("17", settled_in(ROOM), settled_in(DAMP))
    assert unknown == pytest.approx([band[:, 0].min(), band[:, 1].max()])
