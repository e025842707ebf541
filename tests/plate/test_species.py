"""The woods known by name: figures as printed, sources named, and every one a wood that can exist."""

import numpy as np
import pytest

from solver.core.errors import InputError
from solver.core.units import GPA
from solver.plate.species import CONSTANTS, RATIOS, SPECIES, Species, find_species, wood_of

# Wood Handbook, USDA Forest Products Laboratory, GTR-190 (2010), Tables 5-1 and 5-2, about 12 % moisture:
# ET/EL ER/EL GLR/EL GLT/EL GRT/EL nuLR nuLT nuRT, typed again from a transcription (Sitka, sugar maple) and
# from memory (the others); None where the table gives none.
HANDBOOK = {
    "Sitka spruce": (0.043, 0.078, 0.064, 0.061, 0.003, 0.372, 0.467, 0.435),
    "sugar maple": (0.065, 0.132, 0.111, 0.063, None, 0.424, 0.476, 0.774),
    "Engelmann spruce": (0.059, 0.128, 0.124, 0.120, 0.010, 0.422, 0.462, 0.530),
    "red maple": (0.067, 0.140, 0.133, 0.074, None, 0.434, 0.509, 0.762),
    "black walnut": (0.056, 0.106, 0.085, 0.062, 0.021, 0.495, 0.632, 0.718),
    "black cherry": (0.086, 0.197, 0.147, 0.097, None, 0.392, 0.428, 0.695),
}
# Table 5-3a, specific gravity and bending modulus [MPa] at 12 %: transcribed for four, then from memory.
BOARDS = {
    "Engelmann spruce": (0.35, 8900),
    "sugar maple": (0.63, 12600),
    "black cherry": (0.50, 10300),
    "white ash": (0.60, 12000),
    "Sitka spruce": (0.40, 10800),
    "red maple": (0.54, 11300),
    "bigleaf maple": (0.48, 10000),
    "black walnut": (0.55, 11600),
    "black locust": (0.69, 14100),
}
# Hearmon, The elasticity of wood and plywood (1948), transcribed: EL ER ET GLR GLT GRT [GPa], nu LR LT RT.
NORWAY = (10.9, 0.64, 0.42, 0.58, 0.59, 0.026, 0.39, 0.49, 0.64)


@pytest.mark.parametrize("species", SPECIES, ids=lambda s: s.name)
def test_every_figure_names_its_source_and_the_wood_can_exist(species: Species) -> None:
    assert set(species.figures) == set(CONSTANTS)
    assert all(len(figure.source) > 10 for figure in species.figures.values())
    wood = wood_of(species, {}, "plate.toml: [wood]")
    energies = np.linalg.eigvalsh(wood.compliance() * wood.EL)
    assert energies.min() > 0
    assert 350 < wood.density < 900  # spruces to hard hardwoods, air-dry (common practice, no source)


@pytest.mark.parametrize("name", HANDBOOK)
def test_ratios_are_the_handbooks(name: str) -> None:
    wood = wood_of(find_species(name, "x"), {}, "x")
    got = (wood.ET, wood.ER, wood.GLR, wood.GLT, wood.GRT)
    for value, printed in zip(got, HANDBOOK[name][:5], strict=True):
        if printed is not None:
            assert value / wood.EL == pytest.approx(printed, rel=1e-12)
    assert (wood.nu_LR, wood.nu_LT, wood.nu_RT) == HANDBOOK[name][5:]


@pytest.mark.parametrize("name", BOARDS)
def test_density_and_stiffness_follow_from_the_bending_test(name: str) -> None:
    gravity, bending_mpa = BOARDS[name]
    wood = wood_of(find_species(name, "x"), {}, "x")
    assert wood.density == pytest.approx(
        1000 * gravity * 1.12, abs=0.5
    )  # Wood Handbook eq. (4-9): dry mass + 12 %
    assert pytest.approx(1.10 * bending_mpa * 1e6) == wood.EL


def test_norway_spruce_is_hearmons() -> None:
    wood = wood_of(find_species("Norway spruce", "x"), {}, "x")
    got = [m / GPA for m in (wood.EL, wood.ER, wood.ET, wood.GLR, wood.GLT, wood.GRT)]
    assert [*got, wood.nu_LR, wood.nu_LT, wood.nu_RT] == pytest.approx(NORWAY)
    assert wood.density == 390


def test_a_constant_that_no_book_gives_is_marked_as_assumed_with_its_lender() -> None:
    figure = find_species("sugar maple", "x").figures["GRT"]
    assert figure.kind == "assumed"
    assert "black walnut" in figure.source
    assert figure.value == find_species("black walnut", "x").figures["GRT"].value


def test_moduli_not_given_follow_a_stiffer_board() -> None:
    sitka = find_species("Sitka spruce", "x")
    usual, stiff = wood_of(sitka, {}, "x"), wood_of(sitka, {"EL": 15 * GPA, "GLR": 1.1 * GPA}, "x")
    assert stiff.EL == 15 * GPA
    assert stiff.GLR == 1.1 * GPA
    for name in set(RATIOS) - {"GLR"}:
        assert getattr(stiff, name) / stiff.EL == pytest.approx(getattr(usual, name) / usual.EL)
    assert stiff.density == usual.density


@pytest.mark.parametrize("spelling", ["sitka spruce", "SITKA SPRUCE", "  Sitka   spruce "])
def test_capitals_and_spaces_do_not_matter(spelling: str) -> None:
    assert find_species(spelling, "x").name == "Sitka spruce"


@pytest.mark.parametrize(
    ("typed", "suggested"),
    [
        ("stika spruce", "Sitka spruce"),
        ("maple", "sugar maple or red maple or bigleaf maple"),
        ("sitka", "Sitka spruce"),
    ],
)
def test_a_misspelt_wood_is_answered_with_the_nearest(typed: str, suggested: str) -> None:
    with pytest.raises(InputError, match=f'species is "{typed}".*Did you mean {suggested}\\?'):
        find_species(typed, "plate.toml: wood.species")


def test_an_unknown_wood_is_answered_with_all_names() -> None:
    with pytest.raises(InputError, match=r"They are Sitka spruce, .*black locust\."):
        find_species("ebony", "plate.toml: wood.species")


def test_without_a_species_everything_is_asked_for() -> None:
    with pytest.raises(InputError, match="ER ET GLR GLT GRT nu_LR nu_LT nu_RT not given; expected a species"):
        wood_of(None, {"density": 400, "EL": 12 * GPA}, "plate.toml: [wood]")


def test_constants_of_no_wood_are_refused() -> None:
    sitka = find_species("Sitka spruce", "x")
    with pytest.raises(InputError, match=r"stiffest along the grain\. Are the two exchanged"):
        wood_of(sitka, {"EL": 0.9 * GPA, "ER": 12 * GPA}, "plate.toml: [wood]")
    with pytest.raises(InputError, match="every strain costs energy"):
        wood_of(sitka, {"nu_RT": 0.95, "ER": 0.3 * GPA, "ET": 0.6 * GPA}, "plate.toml: [wood]")
