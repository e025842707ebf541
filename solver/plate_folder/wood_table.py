"""The tables [wood] and [bar.wood]: from what the maker states to the wood, and where each figure is from."""

from dataclasses import replace
from math import radians

from solver.errors import InputError
from solver.plate.mass import bar_volume, wood_volume
from solver.plate.plate import Plate
from solver.plate.species import CONSTANTS, RATIOS, Constant, find_species, wood_of
from solver.plate.wood import Wood
from solver.plate_folder.quantities import DENSITY_RANGE
from solver.plate_folder.schema import PlateTable, WoodTable
from solver.units import GPA, GRAM

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


def with_stated_masses(plate: Plate, table: PlateTable) -> Plate:
    """Return the plate with the density that follows from the stated mass, if one is stated.

    A mass in [wood] is that of the whole plate as it lies on the scales, its bar included; a mass in
    [bar.wood] is that of the bar alone. Raises InputError if the density that follows is of no wood.
    """
    bar, table_of_bar = plate.bar, table.bar
    own = table_of_bar.wood if table_of_bar else None
    if bar and own and own.mass_g is not None:
        volume = bar_volume(bar, plate.arch, plate.graduation)
        heavy = _weighed(bar.wood, own.mass_g, volume, "plate.toml: bar.wood.mass_g")
        plate = replace(plate, bar=replace(bar, wood=heavy))
    if table.wood.mass_g is None:
        return plate
    return _with_plate_mass(plate, table.wood.mass_g, shared=own is None)


def _with_plate_mass(plate: Plate, mass_g: float, shared: bool) -> Plate:
    """Share the mass between plate and bar, which is of the plate's wood where ``shared``."""
    volume = wood_volume(plate.outline, plate.arch, plate.graduation)
    where = "plate.toml: wood.mass_g"
    if plate.bar is None:
        return replace(plate, wood=_weighed(plate.wood, mass_g, volume, where))
    bar = bar_volume(plate.bar, plate.arch, plate.graduation)
    if shared:
        wood = _weighed(plate.wood, mass_g, volume + bar, where)
        return replace(plate, wood=wood, bar=replace(plate.bar, wood=wood))
    rest = mass_g - plate.bar.wood.density * bar / GRAM
    return replace(plate, wood=_weighed(plate.wood, rest, volume, where))


def _weighed(wood: Wood, mass_g: float, volume: float, where: str) -> Wood:
    density = mass_g * GRAM / volume
    if not DENSITY_RANGE[0] <= density <= DENSITY_RANGE[1]:
        low, high = DENSITY_RANGE
        raise InputError(
            f"{where}: {mass_g:.4g} g in {volume * 1e6:.4g} cm3 of wood is {density:.0f} kg/m3; "
            f"expected {low:g} to {high:g} kg/m3. Check the mass, and the thickness that gives the volume."
        )
    return replace(wood, density=density)


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
