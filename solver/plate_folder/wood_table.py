"""The tables [wood] and [bar.wood]: from what the maker states to the wood, and where each figure is from."""

from math import radians

from solver.core.units import GPA
from solver.plate.species import CONSTANTS, RATIOS, Constant, find_species, wood_of
from solver.plate.wood import Wood
from solver.plate_folder.schema import WoodTable

_MASSLESS = 1.0
"""Stands in for the density until the stated mass is divided by the plate's volume."""


def make_wood(table: WoodTable, where: str) -> Wood:
    """Return the wood of a table; where it states a mass, `with_stated_masses` has to follow.

    Raises InputError if the species is not known or the constants are of no possible wood.
    """
    given = _given(table)
    if table.mass_g is not None:
        given["density"] = _MASSLESS
    species = find_species(table.species, f"{where} species") if table.species is not None else None
    return wood_of(species, given, where, radians(table.grain_deg), radians(table.ring_deg))


def wood_sources(table: WoodTable) -> dict[Constant, str]:
    """Return for each constant where its value is from: the maker, the mass on the scales, or a book."""
    stated = dict.fromkeys(_given(table), "as stated in plate.toml")
    if table.mass_g is not None:
        stated["density"] = f"from the mass, {table.mass_g:g} g"
    if table.species is None:
        return stated
    figures = find_species(table.species, "wood.species").figures
    shares = {c: f"{figures[c].value:.3g} EL, " if c in RATIOS else "" for c in CONSTANTS}
    notes = {c: " (from memory)" if figures[c].kind == "memory" else "" for c in CONSTANTS}
    known = {c: f"{shares[c]}{figures[c].source}{notes[c]}" for c in CONSTANTS}
    return known | stated


def _given(table: WoodTable) -> dict[Constant, float]:
    """Return what the table states, in SI."""
    stated: dict[Constant, tuple[float | None, float]] = {
        "density": (table.density_kg_m3, 1.0),
        "EL": (table.EL_GPa, GPA),
        "ER": (table.ER_GPa, GPA),
        "ET": (table.ET_GPa, GPA),
        "GLR": (table.GLR_GPa, GPA),
        "GLT": (table.GLT_GPa, GPA),
        "GRT": (table.GRT_GPa, GPA),
        "nu_LR": (table.nu_LR, 1.0),
        "nu_LT": (table.nu_LT, 1.0),
        "nu_RT": (table.nu_RT, 1.0),
    }
    return {name: value * unit for name, (value, unit) in stated.items() if value is not None}
